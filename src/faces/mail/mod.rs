//! Encodings of an electronic letter: header text, date, body, and what is a reader's own. `delivery` sends them.

pub mod body;
pub mod date;
pub mod header;
pub mod personal;

pub use body::quoted_printable;
pub use date::message_date;
pub use header::header_field;
pub use personal::{Head, mailbox_field, personal_letter};
