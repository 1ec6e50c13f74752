//! Services that are down, slow, broken, or lead astray: a clear message, and no more than that.

mod away;
mod body;
mod faults;
mod network;
mod scene;
