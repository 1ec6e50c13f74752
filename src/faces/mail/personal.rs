//! One letter for many readers: what is the same is made once, and each gets a header of its own.

use super::address::mailbox_field;

/// Header fields of the template that the reader's own stand in for, and such as only a server writes.
const OWN: [&str; 14] = [
    "from",
    "sender",
    "to",
    "cc",
    "bcc",
    "reply-to",
    "date",
    "message-id",
    "list-unsubscribe",
    "list-unsubscribe-post",
    "return-path",
    "delivered-to",
    "received",
    "dkim-signature",
];

/// What is a reader's own in the header. Addresses are checked ones; names may be any text without control characters.
#[derive(Debug, Clone, Copy)]
pub struct Head<'a> {
    /// Sender: name and address.
    pub from: (Option<&'a str>, &'a str),
    /// Reader: name and address.
    pub to: (Option<&'a str>, &'a str),
    /// Where answers go.
    pub reply_to: Option<&'a str>,
    /// Date, as [`super::message_date`] writes it.
    pub date: &'a str,
    /// Message-ID with its angle brackets.
    pub message_id: &'a str,
    /// Address to which a mail with the subject `unsubscribe` ends the letters (RFC 2369).
    pub unsubscribe: &'a str,
}

/// The letter of one reader: the template (RFC 5322, lines that end in CRLF or LF) with the fields of `head` in place of its own.
///
/// `None` where the template has no empty line between header and body, or a header line that is no field.
pub fn personal_letter(template: &[u8], head: &Head<'_>) -> Option<Vec<u8>> {
    let text = std::str::from_utf8(template).ok()?;
    let text = text.replace("\r\n", "\n");
    let (fields, body) = text.split_once("\n\n")?;
    let mut lines = vec![
        mailbox_field("From", head.from.0, head.from.1),
        mailbox_field("To", head.to.0, head.to.1),
    ];
    if let Some(address) = head.reply_to {
        lines.push(format!("Reply-To: {address}"));
    }
    lines.push(format!("Date: {}", head.date));
    lines.push(format!("Message-ID: {}", head.message_id));
    lines.push(format!(
        "List-Unsubscribe: <mailto:{}?subject=unsubscribe>",
        head.unsubscribe
    ));
    let mut kept = false;
    for line in fields.split('\n') {
        if !line.starts_with([' ', '\t']) {
            let (name, _) = line.split_once(':')?;
            kept = !OWN.contains(&name.to_ascii_lowercase().as_str());
        }
        if kept {
            lines.push(line.to_owned());
        }
    }
    let head = lines.join("\r\n");
    Some(format!("{head}\r\n\r\n{}", body.replace('\n', "\r\n")).into_bytes())
}

#[cfg(test)]
mod tests {
    use mail_parser::MessageParser;

    use super::*;

    const TEMPLATE: &str = "From: old@example.org\r\nTo: old@example.org,\r\n other@example.org\r\nBcc: third@example.org\r\n\
                            Subject: The lake\r\nX-Long: one\r\n two\r\n\r\nBody\r\n";

    fn head(name: Option<&str>) -> Head<'_> {
        Head {
            from: (Some("The digest"), "digest@example.org"),
            to: (name, "ann@example.org"),
            reply_to: None,
            date: "Fri, 27 Nov 2026 18:00:00 -0800",
            message_id: "<1@example.org>",
            unsubscribe: "digest@example.org",
        }
    }

    #[test]
    fn a_name_is_read_back_by_another_reader_of_mail() {
        for name in [
            "Ann",
            "Ann \"A\" \\ B",
            "Ann Byström",
            "=?utf-8?q?x?=",
            &"Ö".repeat(100),
        ] {
            let letter = personal_letter(TEMPLATE.as_bytes(), &head(Some(name))).expect("a letter");
            let parsed = MessageParser::default().parse(&letter).expect("a message");
            let to = parsed.to().and_then(|to| to.first()).expect("one reader");
            assert_eq!(to.name(), Some(name));
            assert_eq!(to.address(), Some("ann@example.org"));
            let text = String::from_utf8(letter).expect("ASCII");
            assert!(text.split("\r\n").all(|line| line.len() <= 78), "{text}");
        }
    }

    #[test]
    fn nothing_of_another_reader_is_left_and_all_else_stands() {
        let letter = personal_letter(TEMPLATE.as_bytes(), &head(None)).expect("a letter");
        let text = String::from_utf8(letter).expect("ASCII");
        for gone in ["old@", "other@", "third@", "Bcc"] {
            assert!(!text.contains(gone), "{gone}: {text}");
        }
        assert!(
            text.contains("\r\nSubject: The lake\r\nX-Long: one\r\n two\r\n\r\nBody\r\n"),
            "{text}"
        );
        let with_lf = TEMPLATE.replace("\r\n", "\n");
        assert_eq!(
            personal_letter(with_lf.as_bytes(), &head(None)),
            Some(text.into_bytes())
        );
        assert_eq!(personal_letter(b"Subject: x\r\nBody", &head(None)), None);
    }
}
