//! Addresses and names: nothing that could begin a header of its own goes into one.

use super::header::header_field;

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

/// Longest address, and longest local part (RFC 5321, section 4.5.3.1).
const ADDRESS_MOST: usize = 254;
const LOCAL_MOST: usize = 64;
/// Longest name that is believed.
const NAME_MOST: usize = 200;

/// The local part and the domain of an address: `dot-atom@domain` of RFC 5322, section 3.4.1, without comments or quoted strings, which no
/// reader has.
///
/// # Errors
/// [`MessageError::Address`].
pub fn address_parts(address: &str) -> Result<(&str, &str), MessageError> {
    let wrong = || MessageError::Address {
        found: address.to_owned(),
    };
    let (local, domain) = address.rsplit_once('@').ok_or_else(wrong)?;
    let atom = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+-/=?^_`{|}~".contains(c);
    let local_fits = local.len() <= LOCAL_MOST
        && local
            .split('.')
            .all(|part| !part.is_empty() && part.chars().all(atom));
    let label = |part: &str| {
        let ends = part.starts_with('-') || part.ends_with('-');
        !part.is_empty()
            && part.len() <= 63
            && !ends
            && part.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
    };
    let domain_fits = domain.contains('.') && domain.split('.').all(label);
    if address.len() <= ADDRESS_MOST && local_fits && domain_fits {
        Ok((local, domain))
    } else {
        Err(wrong())
    }
}

/// `name` where it may stand in a header.
///
/// # Errors
/// [`MessageError::Name`].
pub fn checked_name(name: &str) -> Result<&str, MessageError> {
    // Line and paragraph separators break lines in some readers, and marks of direction turn a name over.
    let turns =
        |c: char| matches!(c, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if name.chars().any(|c| c.is_control() || turns(c)) || name.chars().count() > NAME_MOST {
        return Err(MessageError::Name {
            found: name.to_owned(),
        });
    }
    Ok(name)
}

/// The header field of one mailbox: `To: "Doe, Jane" <jane@example.org>`, without the CRLF at its end; an empty name is left out.
///
/// # Errors
/// [`MessageError::Address`], [`MessageError::Name`].
pub fn mailbox_field(field: &str, name: &str, address: &str) -> Result<String, MessageError> {
    address_parts(address)?;
    let name = checked_name(name)?.trim();
    if name.is_empty() {
        return Ok(format!("{field}: {address}"));
    }
    let atoms = |c: char| c.is_ascii_alphanumeric() || c == ' ' || c == '-' || c == '_';
    let printable = name.bytes().all(|b| (b' '..=b'~').contains(&b)) && !name.contains("=?");
    let named = if printable && !name.chars().all(atoms) && name.len() < 60 {
        let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
        format!("{field}: \"{quoted}\"")
    } else {
        header_field(field, name)
    };
    let last = named.rsplit("\r\n").next().map_or(0, str::len);
    let gap = if last + address.len() + 3 > 78 {
        "\r\n "
    } else {
        " "
    };
    Ok(format!("{named}{gap}<{address}>"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_begin_a_header_is_refused_and_not_mended() {
        for bad in [
            "a@example.org\r\nBcc: b@example.org",
            "a@example.org\nBcc: b@example.org",
            "a b@example.org",
            "a@example.org, b@example.org",
            "<a@example.org>",
            "a@b@example.org",
            "a@localhost",
            "a@-x.org",
            ".a@example.org",
            "a..b@example.org",
            "a@example.org\0",
            "é@example.org",
            "",
            "@example.org",
        ] {
            let found = address_parts(bad);
            assert_eq!(
                found,
                Err(MessageError::Address {
                    found: bad.to_owned()
                }),
                "{bad:?}"
            );
        }
        for bad in [
            "Jane\r\nBcc: b@example.org",
            "Jane\n",
            "J\u{0}",
            "J\u{2028}x",
            "J\u{202e}x",
        ] {
            assert_eq!(
                checked_name(bad),
                Err(MessageError::Name {
                    found: bad.to_owned()
                })
            );
        }
        assert!(address_parts("o'brien+lake@mail.example.org").is_ok());
    }

    #[test]
    fn names_are_plain_quoted_or_encoded() {
        let of = |name: &str| mailbox_field("To", name, "a@example.org").unwrap();
        assert_eq!(of(""), "To: a@example.org");
        assert_eq!(of("Jane Doe"), "To: Jane Doe <a@example.org>");
        assert_eq!(of("Doe, \"J\""), "To: \"Doe, \\\"J\\\"\" <a@example.org>");
        assert_eq!(of("Zoë"), "To: =?utf-8?q?Zo=C3=AB?= <a@example.org>");
        for name in ["Zoë ".repeat(40), "J. ".repeat(60)] {
            let field = of(&name);
            assert!(field.split("\r\n").all(|line| line.len() <= 78), "{field}");
        }
    }
}
