//! Figures of hindcasts against recorded lakes and against another library.

mod invented;
mod pictures;
mod recorded;
mod report;
