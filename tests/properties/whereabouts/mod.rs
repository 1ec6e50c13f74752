//! What holds for any call: shares, closed arms, pulses, permutations, seeds, gaps.

mod gaps;
mod morning;
mod shares;
mod signs;
