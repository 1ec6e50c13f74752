//! All tests on a series, and on a set of them.

use super::Thresholds;
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::series::{Observation, SeriesSet};

/// Flags every series of `set` in place, from nothing: flags that stood there are overwritten.
pub fn flag_set(_set: &mut SeriesSet, _lake: &Lake, _thresholds: &Thresholds) {}

/// Flags the whole history of one series in place; `rows` in order of time.
pub fn flag_series(
    _rows: &mut [Observation],
    _source: &SeriesSource,
    _cadence: Cadence,
    _lake: &Lake,
    _thresholds: &Thresholds,
) {
}
