//! What a server says of a letter, as it is kept and told: one line, without the reader's address, of bounded length.

use super::mailbox::Mailbox;

/// Longest reply that is kept, in characters.
const REPLY_MOST: usize = 300;
/// Stands where a reader's address stood.
const THE_READER: &str = "<the reader>";

/// `text` on one line.
pub(super) fn one_line(text: &str) -> String {
    let line: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    line.trim().to_owned()
}

/// `text` cut to the longest reply that is kept. What must not be seen is taken out first, else a part of it may stand at the cut.
pub(super) fn shortened(text: &str) -> String {
    text.chars().take(REPLY_MOST).collect()
}

/// `text` with `<the reader>` in every place of the address, however its letters are written: the ledger outlasts the reader's stay on
/// the list, and of one who left it knows no address.
pub(super) fn without_address(text: &str, mailbox: &Mailbox) -> String {
    let address = mailbox.folded();
    let bare = replaced(text, &format!("<{address}>"), THE_READER);
    replaced(&bare, &address, THE_READER)
}

/// `text` with each `what`, which is ASCII in small letters, replaced, whatever the case of its letters.
fn replaced(text: &str, what: &str, with: &str) -> String {
    // Small letters of ASCII alone change no place in the text.
    let folded = text.to_ascii_lowercase();
    let (mut out, mut from) = (String::with_capacity(text.len()), 0);
    for (at, found) in folded.match_indices(what) {
        out.push_str(&text[from..at]);
        out.push_str(with);
        from = at + found.len();
    }
    out.push_str(&text[from..]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_taken_out_whatever_stands_around_it() {
        let mailbox = Mailbox::read("Cy.B@example.org").expect("an address");
        for (said, kept) in [
            (
                "550 5.1.1 <cy.b@example.org>: no such user",
                "550 5.1.1 <the reader>: no such user",
            ),
            ("550 CY.B@EXAMPLE.ORG unknown", "550 <the reader> unknown"),
            (
                "é cy.b@example.org,cy.b@Example.org é",
                "é <the reader>,<the reader> é",
            ),
            (
                "550 <cy@example.org> is another",
                "550 <cy@example.org> is another",
            ),
            ("", ""),
        ] {
            assert_eq!(without_address(said, &mailbox), kept);
        }
    }

    #[test]
    fn a_reply_is_one_line_of_bounded_length() {
        assert_eq!(one_line(" a\r\nb\0c "), "a  b c");
        assert_eq!(shortened(&"é".repeat(400)).chars().count(), 300);
    }
}
