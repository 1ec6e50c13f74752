//! The body of a letter as quoted-printable.

use quoted_printable::encode_to_str;

/// `text` as quoted-printable (RFC 2045, section 6.7): printable ASCII as it is, all else as `=XX` of its UTF-8,
/// lines of at most 76 characters, line ends as CRLF.
///
/// A line end may be given as LF or CRLF; a CR alone is no line end and is encoded. The encoder is the crate
/// `quoted_printable`.
pub fn quoted_printable(text: &str) -> String {
    // The crate takes CRLF alone for a line end.
    let lines = text.replace("\r\n", "\n").replace('\n', "\r\n");
    encode_to_str(lines)
}
