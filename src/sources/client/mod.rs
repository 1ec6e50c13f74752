//! The one client: timeouts, limits of each service, a bound on requests at once, retries, validators, a cap on size; live,
//! recorded and replayed fetches take the same road.

mod body;
mod endpoints;
mod fetch;
mod limits;
mod mode;
mod patience;
mod settings;
mod tries;
mod validators;

pub(crate) use body::{error_words, problem_words};
pub use endpoints::Endpoints;
pub use fetch::{Answer, Client, Reply, Request};
pub use limits::{Allowance, RateLimit};
pub use mode::Mode;
pub use patience::Patience;
pub use settings::{Key, KeyRule, Settings};
pub use validators::{FileValidators, ValidatorStore, Validators};
