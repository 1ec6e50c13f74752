//! See DEVELOPERS.md.
