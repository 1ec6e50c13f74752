//! The one error type of the program, and the exit status of each kind.
