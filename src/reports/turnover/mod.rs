//! The turnover outlook as a value: when the lake turns over, with which chances, and what that rests on.
//!
//! | file | what it holds |
//! |---|---|
//! | `value` | what an outlook consists of |
//! | `chances` | the runs of a place summed up |
//! | `kept` | what of it the archive keeps |
//! | `make` | the outlook of a lake from its runs and conditions |

mod chances;
mod kept;
mod make;
mod value;

pub use kept::kept_turnover;
pub use make::{OutlookOf, outlook_out_of_season, turnover_outlook};
pub use value::*;
