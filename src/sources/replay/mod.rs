//! A folder of recorded replies: read, served on a loopback address, added to.

mod error;
mod index;
mod record;
mod server;
mod window;

pub use error::ReplayError;
pub use index::{Entry, FORMAT, Index};
pub use record::{Exchange, Recorder};
pub use server::ReplayServer;
pub use window::{WINDOW_PARAMETERS, Window};
