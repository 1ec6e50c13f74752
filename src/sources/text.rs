//! Texts of a reply, borrowed from its bytes wherever JSON writes them plainly.

use std::borrow::Cow;

use serde::{Deserialize, Deserializer};

/// A text of a reply. A text with escapes is a copy, any other points into the bytes, so that what is only
/// looked at (a time, a state of approval) costs no memory. Serde itself borrows no text inside an `Option`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text<'a>(pub Cow<'a, str>);

impl Text<'_> {
    /// The text as its own.
    pub fn into_owned(self) -> String {
        self.0.into_owned()
    }
}

impl std::ops::Deref for Text<'_> {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl<'de: 'a, 'a> Deserialize<'de> for Text<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = Text<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a string")
            }
            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Text<'de>, E> {
                Ok(Text(Cow::Borrowed(text)))
            }
            fn visit_str<E>(self, text: &str) -> Result<Text<'de>, E> {
                Ok(Text(Cow::Owned(text.to_owned())))
            }
            fn visit_string<E>(self, text: String) -> Result<Text<'de>, E> {
                Ok(Text(Cow::Owned(text)))
            }
        }
        deserializer.deserialize_str(Visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_text_is_borrowed_and_one_with_an_escape_is_right_as_well() {
        let plain: Option<Text<'_>> = serde_json::from_str("\"ft^3/s\"").unwrap();
        assert!(matches!(plain, Some(Text(Cow::Borrowed("ft^3/s")))), "{plain:?}");
        let escaped: Option<Text<'_>> = serde_json::from_str(r#""ft\u005e3/s""#).unwrap();
        assert_eq!(escaped.as_deref(), Some("ft^3/s"));
        assert!(serde_json::from_str::<Text<'_>>("3").is_err());
    }
}
