//! Addresses and names: nothing that could begin a header of its own goes into one.

use super::header::encoded_field;
use crate::delivery::{Mailbox, checked_name};

/// Why a message cannot be written.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum MessageError {
    /// Not an address.
    #[error(
        "writing a message: found the address {found:?}, wanted one such as reader@example.org, of printable ASCII without \
         blanks; correct it in the list of readers"
    )]
    Address {
        /// What was found.
        found: String,
    },
    /// A name that no header may hold.
    #[error(
        "writing a message: found the name {found:?}, wanted one line of text without control characters; correct it in the list \
         of readers"
    )]
    Name {
        /// What was found.
        found: String,
    },
    /// A page to unsubscribe that one-click cannot use.
    #[error(
        "writing a message: found the address {found:?} to unsubscribe at, wanted one that begins with https:// and has no blanks \
         (RFC 8058); correct it, or leave it out and readers unsubscribe by mail"
    )]
    Page {
        /// What was found.
        found: String,
    },
    /// A date that no header can say.
    #[error("writing a message: found the clock {found}, wanted one of the years 1900 to 9999; set --as-of")]
    Date {
        /// What was found.
        found: String,
    },
}

/// Longest line that a letter should have (RFC 5322, section 2.1.1).
const LINE_MOST: usize = 78;

/// An address as the list of readers takes it ([`Mailbox::read`]).
///
/// # Errors
/// [`MessageError::Address`].
pub fn checked_address(address: &str) -> Result<Mailbox, MessageError> {
    Mailbox::read(address).map_err(|_| MessageError::Address {
        found: address.to_owned(),
    })
}

/// `name` where it may stand in a header, by the rule of the list of readers; `None` for an empty one.
///
/// # Errors
/// [`MessageError::Name`].
pub fn name_for_header(name: &str) -> Result<Option<String>, MessageError> {
    checked_name(name).map_err(|_| MessageError::Name {
        found: name.to_owned(),
    })
}

/// A field with one mailbox: `To: "Ann" <ann@example.org>`, without the CRLF at its end; address and name are checked ones. A name that
/// is not printable ASCII, or too long for a line, is written as encoded words (RFC 2047), any other as a quoted text (RFC 5322, section 3.2.4).
pub fn mailbox_field(field: &str, name: Option<&str>, address: &str) -> String {
    let Some(name) = name else {
        return format!("{field}: {address}");
    };
    let printable = name.bytes().all(|b| (b' '..=b'~').contains(&b)) && !name.contains("=?");
    let quoted = format!("{field}: \"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""));
    let named = if printable && quoted.len() <= LINE_MOST {
        quoted
    } else {
        encoded_field(field, name)
    };
    let last = named.rsplit("\r\n").next().map_or(0, str::len);
    let gap = if last + address.len() + 3 <= LINE_MOST {
        " "
    } else {
        "\r\n "
    };
    format!("{named}{gap}<{address}>")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_begin_a_header_is_refused_and_not_mended() {
        let address = "a@example.org\r\nBcc: b@example.org";
        let found = address.to_owned();
        assert_eq!(checked_address(address), Err(MessageError::Address { found }));
        let name = "Jane\r\nBcc: b@example.org";
        let found = name.to_owned();
        assert_eq!(name_for_header(name), Err(MessageError::Name { found }));
        assert_eq!(name_for_header(" "), Ok(None));
    }

    #[test]
    fn names_are_quoted_or_encoded_and_no_line_is_long() {
        let of = |name: Option<&str>| mailbox_field("To", name, "a@example.org");
        assert_eq!(of(None), "To: a@example.org");
        assert_eq!(of(Some("Jane Doe")), "To: \"Jane Doe\" <a@example.org>");
        assert_eq!(of(Some("Doe, \"J\"")), "To: \"Doe, \\\"J\\\"\" <a@example.org>");
        assert_eq!(of(Some("Zoë")), "To: =?utf-8?q?Zo=C3=AB?= <a@example.org>");
        for length in 1..=100 {
            for name in ["x", "\"", "é", ","].map(|letter| letter.repeat(length)) {
                let field = of(Some(&name));
                assert!(field.split("\r\n").all(|line| line.len() <= LINE_MOST), "{field}");
                // A comma that is neither quoted nor encoded would begin a second mailbox.
                assert!(
                    field.starts_with("To: \"") || field.starts_with("To: =?"),
                    "{field}"
                );
            }
        }
    }
}
