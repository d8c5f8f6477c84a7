//! From the terminal's events to a seat's keys.

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use seat::app::Key;

/// The key of an event; `None` for what a seat has no use for. A new window size needs only the next drawing.
pub fn read(event: Event) -> Option<Key> {
    match event {
        Event::Key(key) if key.kind == KeyEventKind::Press => pressed(key),
        Event::Paste(text) => Some(Key::Paste(text)),
        _ => None,
    }
}

fn pressed(KeyEvent { code, modifiers, .. }: KeyEvent) -> Option<Key> {
    if modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
        let interrupt = code == KeyCode::Char('c') && modifiers.contains(KeyModifiers::CONTROL);
        // Characters that a keyboard reaches with both keys together are characters all the same.
        let both = KeyModifiers::CONTROL | KeyModifiers::ALT;
        return match code {
            _ if interrupt => Some(Key::Interrupt),
            KeyCode::Char(c) if modifiers.contains(both) => Some(Key::Char(c)),
            _ => None,
        };
    }
    Some(match code {
        KeyCode::Char(c) => Key::Char(c),
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Left => Key::Left,
        KeyCode::Right => Key::Right,
        KeyCode::Tab => Key::Tab,
        KeyCode::BackTab => Key::BackTab,
        KeyCode::Backspace | KeyCode::Delete => Key::Backspace,
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::F(1) => Key::Help,
        KeyCode::F(2) => Key::GoTo,
        KeyCode::F(3) => Key::Said,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_press_counts_and_ctrl_c_is_its_own_key() {
        let key = |code, modifiers, kind| read(Event::Key(KeyEvent::new_with_kind(code, modifiers, kind)));
        let none = KeyModifiers::NONE;
        assert_eq!(key(KeyCode::Char('7'), none, KeyEventKind::Press), Some(Key::Char('7')));
        assert_eq!(key(KeyCode::Char('7'), none, KeyEventKind::Release), None);
        assert_eq!(key(KeyCode::Char('c'), KeyModifiers::CONTROL, KeyEventKind::Press), Some(Key::Interrupt));
        assert_eq!(key(KeyCode::Char('x'), KeyModifiers::CONTROL, KeyEventKind::Press), None);
    }
}
