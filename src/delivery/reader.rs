//! A reader: address, consent, and how the letter is to be written.

use chrono::NaiveDate;

use super::mailbox::Mailbox;

/// A name for a reader that says nothing of the address: the first 128 bits of SHA-256 over the list's own salt and the address.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ReaderKey(pub(super) String);

impl ReaderKey {
    /// As text: 32 hexadecimal digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Declares a choice of words, as they stand in tables and in the store.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$item:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$item])* $variant),+
        }

        impl $name {
            /// All words.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// Its word.
            pub fn word(self) -> &'static str {
                match self {
                    $($name::$variant => $word),+
                }
            }

            /// What a word means.
            pub fn from_word(word: &str) -> Option<$name> {
                match word {
                    $($word => Some($name::$variant),)+
                    _ => None,
                }
            }
        }
    };
}
pub(super) use words;

words! {
    /// Units of a letter.
    LetterUnits {
        /// Feet, cubic feet a second, Fahrenheit.
        Us = "us",
        /// Metres, cubic metres a second, Celsius.
        Metric = "metric",
    }
}

words! {
    /// Mark between whole and broken part of a number, whatever the language.
    DecimalMark {
        /// 12.5
        Point = "point",
        /// 12,5
        Comma = "comma",
    }
}

words! {
    /// How an hour is written, whatever the language.
    HourStyle {
        /// 18:30
        Hours24 = "24h",
        /// 6:30 pm
        Hours12 = "12h",
    }
}

words! {
    /// Whether letters go to a reader.
    ReaderState {
        /// Asked for, and not confirmed yet: nothing is sent.
        Pending = "pending",
        /// Letters are sent.
        Confirmed = "confirmed",
        /// Letters came back: nothing is sent until the reader is confirmed again.
        Suspended = "suspended",
    }
}

/// One who reads, or is to be asked whether to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reader {
    /// Name in the ledger and in message identifiers.
    pub key: ReaderKey,
    /// Address.
    pub mailbox: Mailbox,
    /// Name, if told.
    pub name: Option<String>,
    /// Units of the letter.
    pub units: LetterUnits,
    /// Mark in its numbers.
    pub decimal: DecimalMark,
    /// How its hours are written.
    pub hours: HourStyle,
    /// Whether letters are sent.
    pub state: ReaderState,
    /// Day of the consent; `None` while it is pending.
    pub consent_on: Option<NaiveDate>,
    /// How the consent was given.
    pub consent_source: Option<String>,
    /// Letters that came back for good since the last confirmation.
    pub bounces: u32,
}

/// A reader as told, not on the list yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewReader {
    /// Address.
    pub mailbox: Mailbox,
    /// Name, if told.
    pub name: Option<String>,
    /// Units of the letter.
    pub units: LetterUnits,
    /// Mark in its numbers.
    pub decimal: DecimalMark,
    /// How its hours are written.
    pub hours: HourStyle,
    /// Day and source of the consent; `None` for one who is still to confirm.
    pub consent: Option<(NaiveDate, String)>,
}
