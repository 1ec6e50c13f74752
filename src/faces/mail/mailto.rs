//! The address of a letter to write, as a link.

use std::fmt::Write as _;

/// `mailto:` with an address and a subject (RFC 6068): all but letters, digits and a few marks that mean nothing there as `%XX`.
pub fn mailto(address: &str, subject: &str) -> String {
    format!("mailto:{}?subject={}", encoded(address), encoded(subject))
}

fn encoded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~@+!$*".contains(&byte) {
            out.push(char::from(byte));
        } else {
            // Writing to a text in memory cannot fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_end_or_change_the_link_is_encoded() {
        // ASCII by hand: & 26, % 25, ? 3F, # 23, = 3D, blank 20.
        assert_eq!(
            mailto("a&b%c@example.org", "unsubscribe harrow-gap"),
            "mailto:a%26b%25c@example.org?subject=unsubscribe%20harrow-gap"
        );
        assert_eq!(
            mailto("a?b#c=d@x.org", "x"),
            "mailto:a%3Fb%23c%3Dd@x.org?subject=x"
        );
        assert_eq!(
            mailto("ann.b+lake@x.org", "x"),
            "mailto:ann.b+lake@x.org?subject=x"
        );
    }
}
