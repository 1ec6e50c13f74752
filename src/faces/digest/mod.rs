//! The weekly digest as a message: what it says, once, as text, as HTML, as pictures and as a calendar.
//!
//! | file | what it holds |
//! |---|---|
//! | `words` | everything that the digest says, for one kind of reader |
//! | `days` | what it says of the days ahead |
//! | `week` | what it says of the week behind |
//! | `text` | the text part, 72 columns |
//! | `html`, `style` | the HTML part |
//! | `chart` | its pictures |
//! | `dates` | its calendar |
//! | `message` | all of it as a message, built once and made each reader's own |

mod chart;
mod dates;
mod days;
mod html;
mod message;
mod style;
mod text;
mod week;
mod words;

pub use chart::{Chart, Drawer, level_chart, share_chart};
pub use dates::digest_calendar;
pub use html::render_digest_html;
pub use message::{DigestMessage, DigestMessageError, DigestSender, ReaderLine};
pub use text::{DIGEST_WIDTH, render_digest_text};
pub use words::{DigestWords, digest_words};
