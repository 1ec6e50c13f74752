//! One letter for many readers: what is the same is made once, and each gets a header of its own.

use super::address::mailbox_field;
use super::mailto::mailto;

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
/// # Errors
/// What was found and wanted: bytes that are no text, no empty line between header and body, a header line that is no field. A name that
/// some servers mend, such as `Bcc :`, is refused: what it names would reach every reader.
pub fn personal_letter(template: &[u8], head: &Head<'_>) -> Result<Vec<u8>, String> {
    let Ok(text) = std::str::from_utf8(template) else {
        return Err("found bytes that are no text, wanted a message (RFC 5322) in ASCII".to_owned());
    };
    let text = text.replace("\r\n", "\n");
    let Some((fields, body)) = text.split_once("\n\n") else {
        let why = "found no header and body with an empty line between, wanted a message (RFC 5322)";
        return Err(why.to_owned());
    };
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
        "List-Unsubscribe: <{}>",
        mailto(head.unsubscribe, "unsubscribe")
    ));
    let mut kept = false;
    for (at, line) in fields.split('\n').enumerate() {
        if at == 0 || !line.starts_with([' ', '\t']) {
            kept = !OWN.contains(&name_of(line, at + 1)?.to_ascii_lowercase().as_str());
        }
        if kept {
            lines.push(line.to_owned());
        }
    }
    let head = lines.join("\r\n");
    Ok(format!("{head}\r\n\r\n{}", body.replace('\n', "\r\n")).into_bytes())
}

/// The name of a header field (RFC 5322, section 2.2: printable ASCII without colon and blanks), or what is wrong with its line.
fn name_of(line: &str, number: usize) -> Result<&str, String> {
    let name = line.split_once(':').map(|(name, _)| name);
    let sound = |name: &&str| !name.is_empty() && name.bytes().all(|b| (b'!'..=b'~').contains(&b));
    name.filter(sound).ok_or_else(|| {
        let shown: String = line.chars().take(40).collect();
        format!(
            "found the header line {number}, {shown:?}, wanted a field (RFC 5322) such as \"Subject: The lake\", without a blank \
             before its colon; an mbox line \"From ...\" is none"
        )
    })
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
            Ok(text.into_bytes())
        );
    }

    #[test]
    fn a_header_line_that_is_no_field_is_refused_and_named() {
        for (template, words) in [
            ("Subject: x\r\nBody", "no header and body"),
            (
                "Subject: x\r\nBcc : all@example.org\r\n\r\nBody\r\n",
                "line 2, \"Bcc : all",
            ),
            (
                "Subject: x\nTo\t: all@example.org\n\nBody\n",
                "line 2, \"To\\t: all",
            ),
            (
                "From ann@example.org Fri Nov 27 20:00:00 2026\nSubject: x\n\nBody\n",
                "line 1, \"From ann",
            ),
            (" Bcc: all@example.org\nSubject: x\n\nBody\n", "line 1, \" Bcc"),
            ("B\u{e9}: x\n\nBody\n", "line 1"),
            (": x\n\nBody\n", "line 1"),
            ("Subject x\n\nBody\n", "line 1"),
        ] {
            let said = personal_letter(template.as_bytes(), &head(None)).expect_err(template);
            assert!(said.contains(words) && said.contains("wanted"), "{words}: {said}");
        }
        let said = personal_letter(b"Subject: \xff\n\nBody\n", &head(None)).expect_err("no text");
        assert!(said.contains("no text"), "{said}");
    }
}
