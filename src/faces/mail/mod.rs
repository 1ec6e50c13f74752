//! Encodings of an electronic letter: header text, date, body. Nothing sends one yet.

pub mod body;
pub mod date;
pub mod header;

pub use body::quoted_printable;
pub use date::message_date;
pub use header::header_field;
