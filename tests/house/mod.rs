//! Rules of the house.
