//! Long lines of a calendar file.

/// Longest physical line, in octets, without its line end (RFC 5545, section 3.1).
const LINE_MOST: usize = 75;

/// One content line folded to physical lines of at most 75 octets: CRLF and a space between two, never
/// within a character; without a line end after the last.
///
/// `None` when the line holds a CR or LF of its own: a value writes its line breaks as `\n` (RFC 5545, section
/// 3.3.11), else what follows one would be read as a property.
pub fn fold_line(line: &str) -> Option<String> {
    if line.contains(['\r', '\n']) {
        return None;
    }
    let mut folded = String::with_capacity(line.len() + line.len() / 24);
    let mut octets = 0;
    for character in line.chars() {
        if octets + character.len_utf8() > LINE_MOST {
            folded.push_str("\r\n ");
            // The space belongs to the line.
            octets = 1;
        }
        folded.push(character);
        octets += character.len_utf8();
    }
    Some(folded)
}

/// Takes the folds of [`fold_line`], and of any other writer, out again: each CRLF followed by one space or tab.
pub fn unfold(folded: &str) -> String {
    // In one pass: what a first pass has put side by side may look like a fold to a second.
    let mut pieces = folded.split("\r\n");
    let mut text = pieces.next().unwrap_or("").to_owned();
    for piece in pieces {
        match piece.strip_prefix([' ', '\t']) {
            Some(rest) => text.push_str(rest),
            None => {
                text.push_str("\r\n");
                text.push_str(piece);
            }
        }
    }
    text
}
