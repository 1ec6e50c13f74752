//! Header fields of a letter with any text.
//!
//! The encoder is our own. Letter-writing crates encode such text too, but in base64, in which nobody can read
//! a subject in a raw message or a log; the Q form leaves the letters of English standing.

/// Longest encoded word (RFC 2047, section 2).
const WORD_MOST: usize = 75;

/// Longest line of a header that holds an encoded word (same place).
const LINE_MOST: usize = 76;

/// Longest line that a letter should have (RFC 5322, section 2.1.1).
const PLAIN_LINE_MOST: usize = 78;

const BEGIN: &str = "=?utf-8?q?";
const END: &str = "?=";

/// Octets of the longest character in Q form: four bytes of three.
const LONGEST_CHARACTER: usize = 12;

/// The header field `name: text`, without the CRLF at its end; longer ones are folded.
///
/// Text of printable ASCII stands as it is, folded at its spaces where it is longer than a line. Any other is written as encoded words (RFC
/// 2047, Q form, UTF-8) of at most 75 characters, each whole in itself, with a fold between two; readers
/// take the fold away again. A line break in the text is encoded like any other character, so that no text
/// can begin a header of its own. `name` is the program's own: letters, digits and hyphens.
pub fn header_field(name: &str, text: &str) -> String {
    let line_length = name.len() + 2 + text.len();
    if is_plain(text) && line_length <= PLAIN_LINE_MOST {
        return format!("{name}: {text}");
    }
    let folded = Some(text)
        .filter(|text| is_plain(text))
        .and_then(|text| folded_at_spaces(name, text));
    folded.unwrap_or_else(|| encoded_field(name, text))
}

/// A field of plain words, folded at spaces; `None` where a word is longer than a line, or two spaces follow each other: a reader might
/// take such a fold for another text.
fn folded_at_spaces(name: &str, text: &str) -> Option<String> {
    let mut lines = vec![format!("{name}:")];
    for word in text.split(' ') {
        let last = lines.last_mut()?;
        if word.is_empty() || 1 + word.len() > PLAIN_LINE_MOST {
            return None;
        }
        if last.len() + 1 + word.len() <= PLAIN_LINE_MOST {
            last.push(' ');
            last.push_str(word);
        } else if lines.len() == 1 && lines[0].ends_with(':') {
            // A fold directly behind the name leaves a line of nothing.
            return None;
        } else {
            lines.push(format!(" {word}"));
        }
    }
    Some(lines.join("\r\n"))
}

/// The same, in encoded words whatever the text is.
pub(super) fn encoded_field(name: &str, text: &str) -> String {
    let room = LINE_MOST.saturating_sub(name.len() + 2);
    // A name that leaves no room for one character stands on a line of its own.
    let (first_room, gap) = if room < BEGIN.len() + LONGEST_CHARACTER + END.len() {
        (WORD_MOST, "\r\n ")
    } else {
        (room.min(WORD_MOST), " ")
    };
    format!("{name}:{gap}{}", encoded_words(text, first_room).join("\r\n "))
}

/// Whether readers take the text as it stands: printable ASCII, no space at its ends, nothing that looks
/// like an encoded word.
fn is_plain(text: &str) -> bool {
    let printable = text.bytes().all(|b| (b' '..=b'~').contains(&b));
    printable && !text.is_empty() && text.trim() == text && !text.contains("=?")
}

/// The text in encoded words, the first of at most `first_room` characters. At least one, if empty.
fn encoded_words(text: &str, first_room: usize) -> Vec<String> {
    let (mut words, mut word, mut room) = (Vec::new(), String::from(BEGIN), first_room);
    for character in text.chars() {
        let encoded = q_form(character);
        if word.len() + encoded.len() + END.len() > room {
            words.push(word + END);
            (word, room) = (String::from(BEGIN), WORD_MOST);
        }
        word.push_str(&encoded);
    }
    words.push(word + END);
    words
}

/// One character in Q form (RFC 2047, section 5, rule 3: the letters that may stand anywhere in a header).
fn q_form(character: char) -> String {
    match character {
        ' ' => "_".to_owned(),
        'a'..='z' | 'A'..='Z' | '0'..='9' | '!' | '*' | '+' | '-' | '/' => character.to_string(),
        other => {
            let mut bytes = [0; 4];
            other
                .encode_utf8(&mut bytes)
                .bytes()
                .map(|b| format!("={b:02X}"))
                .collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_text_stands_as_it_is() {
        assert_eq!(
            header_field("Subject", "Lake at 880 ft"),
            "Subject: Lake at 880 ft"
        );
    }

    #[test]
    fn long_plain_text_is_folded_at_spaces() {
        let words = "many words ".repeat(12);
        let field = header_field("Subject", words.trim());
        assert!(
            field.lines().count() == 2 && field.is_ascii() && !field.contains("=?"),
            "{field}"
        );
        assert!(field.split("\r\n").all(|line| line.len() <= 78), "{field}");
        // RFC 5322, section 2.2.3: unfolding takes away the line end before a space, and nothing else.
        assert_eq!(field.replace("\r\n", ""), format!("Subject: {}", words.trim()));
    }

    #[test]
    fn no_text_begins_a_header_of_its_own() {
        let field = header_field("Subject", "a\r\nBcc: everyone");
        assert!(!field.contains("\r\n") && field.contains("=0D=0A"), "{field}");
    }

    #[test]
    fn what_looks_encoded_is_encoded_once_more() {
        // Else a reader would decode it to another text.
        assert!(header_field("Subject", "=?utf-8?q?a?=").contains("=3D=3Futf-8"));
    }

    #[test]
    fn a_long_name_leaves_its_line_to_itself() {
        let name = "X".repeat(70);
        assert_eq!(
            header_field(&name, "é"),
            format!("{name}:\r\n =?utf-8?q?=C3=A9?=")
        );
    }
}
