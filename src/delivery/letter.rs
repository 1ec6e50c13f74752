//! What a letter must be before it may go to a mail server, and the name by which it is known.

use sha2::{Digest as _, Sha256};

use super::store::hex;

/// Longest line of a message without its line end (RFC 5322, section 2.1.1).
const LINE_MOST: usize = 998;

/// The Message-ID of a letter, with its angle brackets: the same for a lake, week and reader whenever it is made, another for any other.
///
/// `reader` is the reader's key, so that the address cannot be read off it; `domain` is the sender's own (RFC 5322, section 3.6.4).
pub fn message_id(lake: &str, week: &str, reader: &str, domain: &str) -> String {
    let mut hash = Sha256::new();
    for part in [lake, week, reader] {
        // Each with its length, so that no two letters give the same bytes.
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part.as_bytes());
    }
    format!("<digest.{}@{domain}>", hex(&hash.finalize()[..16]))
}

/// What is told of a line end that is none.
const WRONG_END: &str = "found a line end that is no CRLF, wanted CRLF everywhere";

/// Checks that a letter can go as it is: header of ASCII with one From, To, Date and the Message-ID that the ledger has; lines
/// that end in CRLF and hold at most 998 octets; no octet that a server might not take (RFC 5322; 7 bit by RFC 5321).
///
/// # Errors
/// What was found and wanted.
pub fn check_letter(letter: &[u8], message_id: &str) -> Result<(), String> {
    let Ok(text) = std::str::from_utf8(letter) else {
        return Err("found bytes that are no text, wanted ASCII".to_owned());
    };
    if !text.is_ascii() || text.contains('\0') {
        return Err("found letters outside ASCII, wanted them encoded (quoted-printable, base64)".to_owned());
    }
    let Some((head, _)) = text.split_once("\r\n\r\n") else {
        return Err("found no empty line, wanted one between header and body".to_owned());
    };
    // By bytes: a letter with pictures is searched ten thousand times over.
    let mut lines = letter.split(|byte| *byte == b'\n').peekable();
    while let Some(line) = lines.next() {
        let is_last = lines.peek().is_none();
        let line = match line.strip_suffix(b"\r") {
            Some(line) if !is_last => line,
            None if is_last => line,
            _ => return Err(WRONG_END.to_owned()),
        };
        if line.contains(&b'\r') {
            return Err(WRONG_END.to_owned());
        }
        if line.len() > LINE_MOST {
            return Err(format!(
                "found a line of {} octets, wanted at most {LINE_MOST}",
                line.len()
            ));
        }
    }
    let fields = unfolded(head);
    for name in ["From", "To", "Date", "Message-ID"] {
        let values: Vec<&str> = fields.iter().filter_map(|field| value_of(field, name)).collect();
        match values[..] {
            [value] if name != "Message-ID" || value == message_id => {}
            [value] => return Err(format!("found {name} {value}, wanted {message_id}")),
            _ => return Err(format!("found {} headers {name}, wanted one", values.len())),
        }
    }
    Ok(())
}

/// The fields of a header, each on one line: a line that begins with a blank goes on with the one before (RFC 5322, section 2.2.3).
fn unfolded(head: &str) -> Vec<String> {
    let mut fields: Vec<String> = Vec::new();
    for line in head.split("\r\n") {
        match fields.last_mut() {
            Some(field) if line.starts_with([' ', '\t']) => field.push_str(line),
            _ => fields.push(line.to_owned()),
        }
    }
    fields
}

/// The value of a header field with this name.
fn value_of<'a>(field: &'a str, name: &str) -> Option<&'a str> {
    let (found, value) = field.split_once(':')?;
    found.eq_ignore_ascii_case(name).then(|| value.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    const ID: &str = "<digest.1@example.org>";

    fn letter() -> String {
        format!("From: a@example.org\r\nTo: b@example.org\r\nDate: x\r\nMessage-ID: {ID}\r\n\r\nHello\r\n")
    }

    #[test]
    fn a_letter_keeps_its_identifier_and_no_two_share_one() {
        let id = |lake, week, reader| message_id(lake, week, reader, "example.org");
        assert_eq!(id("a", "2026-W48", "r"), id("a", "2026-W48", "r"));
        let others = [
            id("ab", "2026-W48", "r"),
            id("a", "2026-W49", "r"),
            id("a", "2026-W48", "s"),
        ];
        assert!(!others.contains(&id("a", "2026-W48", "r")));
        assert_ne!(id("ab", "c", "d"), id("a", "bc", "d"));
    }

    #[test]
    fn a_folded_field_has_its_whole_value() {
        for folded in [
            format!("Message-ID:\r\n {ID}"),
            format!("Message-ID: \r\n\t{ID} "),
        ] {
            let text = letter().replace(&format!("Message-ID: {ID}"), &folded);
            assert_eq!(check_letter(text.as_bytes(), ID), Ok(()), "{folded:?}");
        }
        // What looks like a field behind a fold belongs to the field before.
        let hidden = letter().replace("Date: x", "X: y\r\n Date: x");
        let said = check_letter(hidden.as_bytes(), ID).expect_err("no date");
        assert!(said.contains("0 headers Date"), "{said}");
    }

    #[test]
    fn what_a_server_might_refuse_or_change_is_not_sent() {
        assert_eq!(check_letter(letter().as_bytes(), ID), Ok(()));
        let cases = [
            (letter().replace("Hello", "Grüße"), "outside ASCII"),
            (letter().replace("Hello\r\n", "Hello\n"), "no CRLF"),
            (letter().replace("Hello", "a\rb"), "no CRLF"),
            (letter().replace("Hello", &"x".repeat(999)), "999 octets"),
            (letter().replace("Date: x\r\n", ""), "0 headers Date"),
            (
                letter().replace("Date: x", "Date: x\r\nTo: c@example.org"),
                "2 headers To",
            ),
            (letter().replace("digest.1", "digest.2"), "wanted <digest.1@"),
            ("From: a".to_owned(), "no empty line"),
        ];
        for (text, words) in cases {
            let said = check_letter(text.as_bytes(), ID).expect_err(words);
            assert!(said.contains(words), "{words}: {said}");
        }
    }
}
