//! The whole terminal, drawn on through a [`Writer`].

use crate::{Whole, Writer};
use crossterm::cursor::Show;
use crossterm::execute;
use crossterm::style::Print;
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use std::io::{self, Write};

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
    take(&mut out.whole())?;
    Terminal::new(CrosstermBackend::new(out.whole()))
}

/// Gives the terminal back as it was.
///
/// # Errors
/// The terminal is gone.
pub fn leave(out: &Writer) -> io::Result<()> {
    disable_raw_mode()?;
    give_back(&mut out.whole())
}

/// The screen beside that of the shell; what was on it before would shine through where nothing is drawn. All goes through
/// one part, as what is not flushed through the part that it was written to is lost with it.
fn take(screen: &mut impl Write) -> io::Result<()> {
    execute!(screen, EnterAlternateScreen, Clear(ClearType::All))
}

fn give_back(screen: &mut impl Write) -> io::Result<()> {
    execute!(screen, LeaveAlternateScreen, Show, Print("\r\n"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::LAST_WORDS;
    use std::io::Read;

    fn written(by: impl FnOnce(&Writer) -> io::Result<()>) -> String {
        let (mut read, write) = io::pipe().unwrap();
        let out = Writer::onto(write).unwrap();
        by(&out).unwrap();
        assert!(out.finish(LAST_WORDS));
        let mut bytes = [0; 64];
        let count = read.read(&mut bytes).unwrap();
        String::from_utf8(bytes[..count].to_vec()).unwrap()
    }

    #[test]
    fn the_screen_beside_that_of_the_shell_is_taken_and_cleared_and_given_back_with_its_cursor_on_a_new_line()
    {
        assert_eq!(written(|out| take(&mut out.whole())), "\u{1b}[?1049h\u{1b}[2J");
        assert_eq!(written(|out| give_back(&mut out.whole())), "\u{1b}[?1049l\u{1b}[?25h\r\n");
    }
}
