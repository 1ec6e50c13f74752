//! The store: round trips, what is known at an instant, and how long a large one takes.

mod figures;
mod in_time;
mod merging;
mod scene;
