//! The network of columns: the main body one column, each arm a row of reaches from its mouth to its head, joined
//! through faces.

mod exchange;
mod layout;
mod valley;

pub use exchange::{Exchange, FRONT_FROUDE, Pair};
pub use layout::{Face, Layout, LayoutError, Part, Place};
pub use valley::Valley;
