//! Figures of hindcasts against recorded lakes and against another library.

mod recorded;
