//! Standard output and standard error.

use std::io::Write as _;

use owo_colors::OwoColorize as _;

use crate::error::Error;
use crate::faces::Ink;
use crate::faces::faults::render_faults;
use crate::lake::LakeError;

/// Whether standard output takes colour: a terminal, and neither `NO_COLOR` nor `TERM=dumb`.
pub fn ink() -> Ink {
    let choice = anstream::AutoStream::choice(&std::io::stdout());
    Ink {
        colour: !matches!(choice, anstream::ColorChoice::Never),
    }
}

/// Writes text to standard output.
///
/// # Errors
/// [`Error::Output`] when it is closed or full.
pub fn print(text: &str) -> Result<(), Error> {
    print_bytes(text.as_bytes())
}

/// Writes bytes to standard output.
///
/// # Errors
/// As [`print`].
pub fn print_bytes(bytes: &[u8]) -> Result<(), Error> {
    let mut out = std::io::stdout().lock();
    out.write_all(bytes)
        .and_then(|()| out.flush())
        .map_err(|source| Error::Output { source })
}

/// Writes an error to standard error, with its causes where the message does not say them already.
pub fn complain(error: &Error) {
    if let Error::Lake(LakeError::Faulty { faults, .. }) = error {
        // Each fault on a line of its own that begins with its place, as editors read it.
        remark(render_faults(faults).trim_end());
        return;
    }
    let mut text = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(inner) = cause {
        let said = inner.to_string();
        if !text.contains(&said) {
            text.push_str(": ");
            text.push_str(&said);
        }
        cause = inner.source();
    }
    let mut err = anstream::stderr().lock();
    // Standard error may be closed; there is nowhere left to say so.
    let _ = writeln!(err, "{} {text}", "plungeline:".bold());
}

/// Writes a remark to standard error.
pub fn remark(text: &str) {
    let mut err = anstream::stderr().lock();
    // As above.
    let _ = writeln!(err, "{text}");
}
