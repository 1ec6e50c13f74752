//! The brief, end to end.
