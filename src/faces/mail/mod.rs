//! Electronic letters: addresses, header text, date, body and its parts, and what is a reader's own. `delivery` sends them.

pub mod address;
pub mod body;
pub mod date;
pub mod header;
pub mod mailto;
pub mod parts;
pub mod personal;

pub use address::{MessageError, checked_address, mailbox_field, name_for_header};
pub use body::quoted_printable;
pub use date::message_date;
pub use header::header_field;
pub use mailto::mailto;
pub use personal::{Head, personal_letter};
