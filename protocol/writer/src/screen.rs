//! The whole terminal, drawn on through a [`Writer`].

use crate::{Whole, Writer};
use crossterm::cursor::Show;
use crossterm::execute;
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use std::io;

/// A terminal whose drawings a thread writes.
pub type Screen = Terminal<CrosstermBackend<Whole>>;

/// Takes the terminal. After a panic it is given back before the panic is told.
///
/// # Errors
/// It is no terminal, or does not let itself be used.
pub fn enter(out: &Writer) -> io::Result<Screen> {
    let tell = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        ratatui::restore();
        tell(panic);
    }));
    enable_raw_mode()?;
    // What was on the screen before would shine through where nothing is drawn.
    execute!(out.whole(), EnterAlternateScreen, Clear(ClearType::All))?;
    Terminal::new(CrosstermBackend::new(out.whole()))
}

/// Gives the terminal back as it was.
///
/// # Errors
/// The terminal is gone.
pub fn leave(out: &Writer) -> io::Result<()> {
    disable_raw_mode()?;
    execute!(out.whole(), Show, LeaveAlternateScreen)
}
