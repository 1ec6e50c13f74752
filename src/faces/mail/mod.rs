//! Electronic letters: addresses, header text, date, body and its parts. Nothing here sends one.

pub mod address;
pub mod body;
pub mod date;
pub mod header;
pub mod parts;

pub use address::{MessageError, address_parts, checked_name, mailbox_field};
pub use body::quoted_printable;
pub use date::message_date;
pub use header::header_field;
