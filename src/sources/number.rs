//! Numbers as services send them: numbers, numbers in quotes, words, nothing.

use serde::{Deserialize, Deserializer};

/// A number, or what stands in its place.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A finite number.
    Number(f64),
    /// No value: null or blank.
    Nothing,
    /// Text that is no number.
    Word(String),
}

impl Figure {
    /// The figure of a text: blank is nothing, a finite number a number, anything else a word.
    pub fn from_text(text: &str) -> Figure {
        let text = text.trim();
        if text.is_empty() {
            return Figure::Nothing;
        }
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Figure::Number(number),
            // Rust's own `nan` and `inf` are no measurements.
            _ => Figure::Word(text.to_owned()),
        }
    }
}

/// Magnitude from which a figure is no measurement in any unit; a larger one may overflow when it is converted.
pub const LARGEST: f64 = 1e15;

impl<'de> Deserialize<'de> for Figure {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Figure;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a number, a number in quotes, or null")
            }
            fn visit_f64<E>(self, number: f64) -> Result<Figure, E> {
                Ok(Figure::Number(number))
            }
            fn visit_i64<E>(self, number: i64) -> Result<Figure, E> {
                Ok(Figure::Number(number as f64))
            }
            fn visit_u64<E>(self, number: u64) -> Result<Figure, E> {
                Ok(Figure::Number(number as f64))
            }
            fn visit_str<E>(self, text: &str) -> Result<Figure, E> {
                Ok(Figure::from_text(text))
            }
            fn visit_unit<E>(self) -> Result<Figure, E> {
                Ok(Figure::Nothing)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Figure {
        serde_json::from_str(json).unwrap()
    }

    #[test]
    fn a_number_in_quotes_is_the_same_number() {
        assert_eq!(read("\"20.2\""), Figure::Number(20.2));
        assert_eq!(read("20.2"), Figure::Number(20.2));
        assert_eq!(read("-3"), Figure::Number(-3.0));
    }

    #[test]
    fn null_and_blank_are_nothing() {
        assert_eq!(read("null"), Figure::Nothing);
        assert_eq!(read("\"  \""), Figure::Nothing);
    }

    #[test]
    fn words_and_non_numbers_stay_words() {
        for word in ["Ice", "***", "NaN", "inf", "1,041"] {
            assert_eq!(Figure::from_text(word), Figure::Word(word.to_owned()));
        }
    }
}
