//! Letters to readers: who asked for them, what became of each, and how they are handed to a mail server.
//!
//! Nobody gets a letter twice. A row of the ledger is claimed in a transaction before its letter is made, and marked before the
//! final dot of the message leaves; a row whose dot may have left without an answer is `unknown`, and is never sent by itself again.

pub mod bounce;
mod error;
pub mod fault;
mod ledger;
mod letter;
mod mailbox;
mod reader;
mod readers;
mod rehearse;
mod reply;
mod resolve;
mod secret;
mod send;
mod settings;
mod smtp;
mod store;
pub mod table;
mod week;

pub use error::DeliveryError;
pub use fault::{Fault, faulty};
pub use ledger::{Claim, Delivery, DeliveryState};
pub use letter::{check_letter, message_id};
pub use mailbox::{Mailbox, checked_name};
pub use reader::{DecimalMark, HourStyle, LetterUnits, NewReader, Reader, ReaderKey, ReaderState};
pub use readers::{Imported, Joined};
pub use rehearse::{Prepared, dry_run};
pub use resolve::Resolution;
pub use secret::{Secret, SecretFrom};
pub use send::{Event, Pace, Tally, send};
pub use settings::{MailSettings, Security, read_settings, read_settings_file};
pub use store::{Book, Sending, write_private};
pub use week::{Schedule, Slot, Week};
