//! The body of a message in parts (RFC 2045 to 2047, 2387): text, HTML with its pictures, attachments.
//!
//! The tree is written by hand because it is built once and only its few lines for one reader are made anew: the crates that write
//! messages encode all of it for each reader, which for ten thousand of them is two gigabytes of base64.

use base64::Engine as _;

use super::quoted_printable;

/// Characters of a line of base64 (RFC 2045, section 6.8).
const BASE64_LINE: usize = 76;

/// A picture that the HTML shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InlinePicture {
    /// Its Content-ID, without brackets.
    pub content_id: String,
    /// Name of its file.
    pub file: String,
    /// PNG.
    pub png: Vec<u8>,
}

/// A file that goes with the message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its type with its parameters: `text/calendar; charset=utf-8`.
    pub kind: String,
    /// Name of its file: letters, digits, hyphens, points.
    pub file: String,
    /// Text.
    pub text: String,
}

/// Where the lines for one reader stand between the pieces of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// At the end of the text.
    Text,
    /// In the HTML.
    Html,
}

/// A piece of a body, and what comes after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// Bytes.
    pub bytes: String,
    /// What a reader's own lines follow it; `None` at the end.
    pub then: Option<Slot>,
}

/// What a body is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parts {
    /// The text before a reader's own lines.
    pub text: String,
    /// The HTML before and after a reader's own lines; the first ends with a line end.
    pub html: [String; 2],
    /// Pictures.
    pub pictures: Vec<InlinePicture>,
    /// Attachments.
    pub attachments: Vec<Attachment>,
    /// Beginning of every boundary: letters and digits.
    pub boundary: String,
}

/// The header fields that tell of the body, and its pieces. Boundaries begin with `=_`, which neither quoted-printable nor base64 can
/// hold, so that none occurs in a part.
pub fn body(parts: &Parts) -> (String, Vec<Piece>) {
    let mark = |name: &str| format!("=_{}_{name}", parts.boundary);
    let (mixed, alternative, related) = (mark("mixed"), mark("alternative"), mark("related"));
    let mut pieces = Vec::new();
    let mut text = format!(
        "--{mixed}\r\nContent-Type: multipart/alternative;\r\n boundary=\"{alternative}\"\r\n\r\n--{alternative}\r\n\
         Content-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    );
    text.push_str(&quoted_printable(&parts.text));
    pieces.push(Piece {
        bytes: text,
        then: Some(Slot::Text),
    });
    let html = format!(
        "\r\n--{alternative}\r\nContent-Type: multipart/related; type=\"text/html\";\r\n boundary=\"{related}\"\r\n\r\n--{related}\r\n\
         Content-Type: text/html; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n{}",
        quoted_printable(&parts.html[0])
    );
    pieces.push(Piece {
        bytes: html,
        then: Some(Slot::Html),
    });
    let mut rest = quoted_printable(&parts.html[1]);
    for picture in &parts.pictures {
        rest.push_str(&format!(
            "\r\n--{related}\r\nContent-Type: image/png; name=\"{file}\"\r\nContent-Transfer-Encoding: base64\r\n\
             Content-ID: <{id}>\r\nContent-Disposition: inline; filename=\"{file}\"\r\n\r\n{}",
            base64_lines(&picture.png),
            file = picture.file,
            id = picture.content_id
        ));
    }
    rest.push_str(&format!("\r\n--{related}--\r\n\r\n--{alternative}--\r\n"));
    for attached in &parts.attachments {
        rest.push_str(&format!(
            "\r\n--{mixed}\r\nContent-Type: {}; name=\"{file}\"\r\nContent-Transfer-Encoding: quoted-printable\r\n\
             Content-Disposition: attachment; filename=\"{file}\"\r\n\r\n{}",
            attached.kind,
            quoted_printable(&attached.text),
            file = attached.file
        ));
    }
    rest.push_str(&format!("\r\n--{mixed}--\r\n"));
    pieces.push(Piece {
        bytes: rest,
        then: None,
    });
    let head = format!("MIME-Version: 1.0\r\nContent-Type: multipart/mixed;\r\n boundary=\"{mixed}\"");
    (head, pieces)
}

/// Base64 in lines of 76.
fn base64_lines(bytes: &[u8]) -> String {
    let all = base64::engine::general_purpose::STANDARD.encode(bytes);
    let mut lines = String::with_capacity(all.len() + all.len() / 36);
    let mut rest = all.as_str();
    while !rest.is_empty() {
        let (line, further) = rest.split_at(rest.len().min(BASE64_LINE));
        lines.push_str(line);
        lines.push_str("\r\n");
        rest = further;
    }
    lines
}
