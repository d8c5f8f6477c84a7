//! What the command line left out is asked for.

use dial::host_address;
use protocol::{person, text};
use std::io::{self, BufRead, Write};

/// Asks until the answer is one; `None` when nobody answers any more.
///
/// # Errors
/// When nothing can be read or printed.
fn until<T>(
    question: &str,
    understand: impl Fn(&str) -> Result<T, String>,
    typing: &mut impl BufRead,
    print: &mut impl Write,
) -> io::Result<Option<T>> {
    loop {
        write!(print, "{question}: ")?;
        print.flush()?;
        let mut line = String::new();
        if typing.read_line(&mut line)? == 0 {
            writeln!(print)?;
            return Ok(None);
        }
        match understand(line.trim()) {
            Ok(answer) => return Ok(Some(answer)),
            Err(reason) => writeln!(print, "{}", text::message(&reason))?,
        }
    }
}

/// The host's address.
///
/// # Errors
/// When nothing can be read or printed.
pub fn address(typing: &mut impl BufRead, print: &mut impl Write) -> io::Result<Option<String>> {
    until("The address on the teacher's screen", host_address, typing, print)
}

/// The person's name.
///
/// # Errors
/// When nothing can be read or printed.
pub fn name(typing: &mut impl BufRead, print: &mut impl Write) -> io::Result<Option<String>> {
    until("Your name", |raw| person::name(raw).map_err(|fault| fault.to_string()), typing, print)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_answer_is_explained_and_asked_again_and_the_end_of_input_is_no_answer() {
        let mut printed = Vec::new();
        let mut typing = &b"http://tea.local\n tea.local \n"[..];
        assert_eq!(address(&mut typing, &mut printed).unwrap().as_deref(), Some("tea.local:4177"));
        assert_eq!(name(&mut typing, &mut printed).unwrap(), None);
        let printed = String::from_utf8(printed).unwrap();
        let asked =
            "The address on the teacher's screen: a class is not reached by http://; leave that out: ";
        assert!(printed.starts_with(asked) && printed.ends_with("screen: Your name: \n"), "{printed}");
    }
}
