//! Addresses and names as they are let into the list: nothing in them can begin a header or a command of its own.

use lettre::Address;

use super::fault::Fault;

/// Longest address (RFC 5321, section 4.5.3.1.3: a path of 256 octets with its angle brackets).
const ADDRESS_MOST: usize = 254;
/// Longest part of it before the at sign (same place, 4.5.3.1.1).
const LOCAL_MOST: usize = 64;
/// Longest name that is taken: a header line of it still fits (common practice, no source).
const NAME_MOST: usize = 100;

/// A checked address, ASCII, its domain in small letters.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mailbox(Address);

impl Mailbox {
    /// Checks an address by the crate `lettre`.
    ///
    /// # Errors
    /// A fault without a place for anything but a bare ASCII address of at most 254 octets, such as `ann@example.org`: a line break, a
    /// control character, a second address, a display name.
    pub fn read(text: &str) -> Result<Mailbox, Fault> {
        let fault = |found: String, mend: &str| {
            Fault::new(
                "the address",
                found,
                "one bare address such as ann@example.org",
                mend,
            )
        };
        if text.contains(|c: char| c.is_control()) {
            return Err(fault(
                format!("{text:?}, which holds a line break or control character"),
                "take it out: it could begin a header of its own",
            ));
        }
        if !text.is_ascii() {
            return Err(fault(
                format!("{text:?}, which is not ASCII"),
                "write the domain in its ASCII form (xn--...)",
            ));
        }
        let plain =
            text.len() <= ADDRESS_MOST && text.rsplit_once('@').is_some_and(|(local, _)| is_dot_atom(local));
        let address: Option<Address> = plain.then(|| text.parse().ok()).flatten();
        let Some(address) = address.filter(|a| a.domain().contains('.') || a.domain() == "localhost") else {
            return Err(fault(format!("{text:?}"), "write the address alone"));
        };
        let domain = address.domain().to_ascii_lowercase();
        Address::new(address.user(), domain)
            .map(Mailbox)
            .map_err(|error| fault(format!("{text:?} ({error})"), "write the address alone"))
    }

    /// Checks an address that is to come into the list, from which tables are made: none that a spreadsheet takes for a formula.
    ///
    /// # Errors
    /// As [`Mailbox::read`], and a fault for one that begins with `=`, `+` or `-`.
    pub fn for_list(text: &str) -> Result<Mailbox, Fault> {
        if is_formula(text) {
            return Err(Fault::new(
                "the address",
                format!("{text:?}, which begins as a formula of a spreadsheet does"),
                "an address that begins with a letter or a digit",
                "ask the reader for another one",
            ));
        }
        Mailbox::read(text)
    }

    /// The address as text.
    pub fn as_str(&self) -> &str {
        self.0.as_ref()
    }

    /// Its domain.
    pub fn domain(&self) -> &str {
        self.0.domain()
    }

    /// The address for the envelope.
    pub(super) fn address(&self) -> Address {
        self.0.clone()
    }

    /// What two ways to write one mailbox have in common. Letters before the at sign may differ in case by the standard
    /// (RFC 5321, section 2.4); no common server makes use of it.
    pub(super) fn folded(&self) -> String {
        self.as_str().to_ascii_lowercase()
    }
}

impl std::fmt::Display for Mailbox {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Whether the part before the at sign is a `dot-atom` (RFC 5322, section 3.2.3) of at most 64 octets (RFC 5321, section 4.5.3.1.1):
/// no comment, no quoted string, which no reader has.
fn is_dot_atom(local: &str) -> bool {
    let atom = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+-/=?^_`{|}~".contains(c);
    let parts = |part: &str| !part.is_empty() && part.chars().all(atom);
    local.len() <= LOCAL_MOST && local.split('.').all(parts)
}

/// Whether a character breaks a line in some reader of mail, or turns the direction of what follows, so that a name looks like another.
fn breaks_or_turns(c: char) -> bool {
    let turns =
        matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || turns || matches!(c, '\u{2028}' | '\u{2029}')
}

/// Whether a spreadsheet would take a text for a formula.
fn is_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@'])
}

/// A name as it may stand in a header; `None` for an empty one.
///
/// # Errors
/// A fault for a line break, control character or mark of direction, for more than 100 characters, and for a beginning that a spreadsheet takes for a
/// formula.
pub fn checked_name(text: &str) -> Result<Option<String>, Fault> {
    let text = text.trim_matches(' ');
    let fault = |found: &str, mend: &str| {
        let wanted = "a name of at most 100 printable characters";
        Err(Fault::new(
            "the name",
            format!("{text:?}, which {found}"),
            wanted,
            mend,
        ))
    };
    if text.contains(breaks_or_turns) {
        return fault(
            "holds a line break, a control character or a mark of direction",
            "take it out: it could begin a header of its own",
        );
    }
    if text.chars().count() > NAME_MOST {
        return fault("is longer", "shorten it");
    }
    if is_formula(text) {
        return fault("begins as a formula of a spreadsheet does", "begin with a letter");
    }
    Ok((!text.is_empty()).then(|| text.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_an_address_or_a_name_begins_a_header_or_a_command() {
        for text in [
            "ann@example.org\r\nBcc: all@example.org",
            "ann@example.org\nRCPT TO:<b@example.org>",
            "ann@example.org>\r\nDATA",
            "ann@example.org, bob@example.org",
            "Ann <ann@example.org>",
            "ann@@example.org",
            "ann@example.org\u{0}",
            "ann",
            "",
            "\"ann b\"@example.org",
            "ann b@example.org",
            ".a@example.org",
            "a..b@example.org",
            "a@-x.org",
            "ann@example",
            "é@example.org",
            "@example.org",
        ] {
            let fault = Mailbox::read(text).expect_err(text);
            assert!(fault.to_string().contains(&format!("{text:?}")), "{fault}");
        }
        for text in [
            "Ann\r\nBcc: all@example.org",
            "Ann\nX",
            "Ann\u{2028}X",
            "Ann\u{202e}X",
            "Ann\u{2066}X",
            "Ann\u{200f}X",
            "Ann\u{0}",
            "=1+1",
            &"a".repeat(101),
        ] {
            assert!(checked_name(text).is_err(), "{text:?}");
        }
    }

    #[test]
    fn no_formula_comes_into_the_list_and_one_that_is_there_is_read() {
        for text in ["=1+1@x.org", "+a@x.org", "-a@x.org", "@x.org"] {
            let fault = Mailbox::for_list(text).expect_err(text);
            assert!(fault.to_string().contains("formula"), "{fault}");
        }
        assert!(Mailbox::for_list("a=1+1@x.org").is_ok());
        assert!(Mailbox::read("=1+1@x.org").is_ok());
    }

    #[test]
    fn the_domain_is_written_in_small_letters_and_the_rest_stands() {
        let read = Mailbox::read("Ann.B+lake@Example.ORG").expect("an address");
        assert_eq!(read.as_str(), "Ann.B+lake@example.org");
        assert!(Mailbox::read("o'brien+lake@mail.example.org").is_ok());
        assert_eq!(read.folded(), "ann.b+lake@example.org");
        assert_eq!(
            checked_name(" Ann Byström ").expect("a name"),
            Some("Ann Byström".to_owned())
        );
    }
}
