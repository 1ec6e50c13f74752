//! Notices: whether the user's own conditions hold, each told once, and the ledger that remembers it.

mod error;
mod latch;
mod ledger;
mod state;

pub use error::NoticeError;
pub use latch::{Look, Memory, Sight, look};
pub use ledger::{Clock, Ledger, Track};
pub use state::{Lack, NoticeFigure, NoticeReport, NoticeState, Reading, not_remembered};
