//! Figures of hindcasts against recorded lakes and against another library.

mod figures;
mod invented;
mod pictures;
mod recorded;
mod report;
