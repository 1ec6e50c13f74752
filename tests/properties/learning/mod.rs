//! What holds for any fit of trips, and how good fits of simulated trips are.

#[allow(dead_code)] // shared with the example
mod angler;
mod calibration;
mod choice;
mod exact;
mod made_up;
mod small;
