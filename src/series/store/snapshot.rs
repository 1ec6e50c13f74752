//! A copy of the long series in the form in which they are loaded, beside their year files.
//!
//! A brief wants the whole record of thirty series within a tenth of a second, and a record of forty
//! years is four hundred Parquet files. So the first load after a change writes
//! `<series>/<cadence>.snapshot`, and the next ones read that. It is a cache: it names the files it was
//! made from by year, length, time of change and number on disk, and is passed over when any of them
//! differs, when a byte of it does not match its checksum, or when it is not there. It may be removed
//! at any time.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::table::{Origin, origins, shared_provenance};
use crate::series::{Flag, Observation};

const MARK: &[u8; 8] = b"plsnap01";
/// Shorter series are read from their year files as fast.
pub(super) const WORTHWHILE_ROWS: usize = 2_000;

const HAS_VALUE: u8 = 1;
const HAS_ORIGINAL: u8 = 2;
const HAS_DEPTH: u8 = 4;

/// What tells a file from the one that replaces it.
pub(super) fn fingerprint(files: &BTreeMap<i32, PathBuf>) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(files.len() * 28);
    for (year, path) in files {
        let metadata = fs::metadata(path).ok()?;
        let changed = metadata
            .modified()
            .ok()?
            .duration_since(std::time::UNIX_EPOCH)
            .ok()?;
        bytes.extend(year.to_le_bytes());
        bytes.extend(metadata.len().to_le_bytes());
        bytes.extend((changed.as_nanos() as u64).to_le_bytes());
        bytes.extend(number_on_disk(&metadata).to_le_bytes());
    }
    Some(bytes)
}

#[cfg(unix)]
fn number_on_disk(metadata: &fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(metadata)
}

#[cfg(not(unix))]
fn number_on_disk(_metadata: &fs::Metadata) -> u64 {
    0
}

/// The rows from `from` on of the snapshot at `path`, if it was made from the files of `fingerprint`.
pub(super) fn read(path: &Path, fingerprint: &[u8], from: Option<DateTime<Utc>>) -> Option<Vec<Observation>> {
    let bytes = fs::read(path).ok()?;
    let mut rest = Rest(&bytes);
    if rest.take(MARK.len())? != MARK {
        return None;
    }
    let checksum = rest.number()?;
    if checksum != checksum_of(rest.0) {
        return None;
    }
    let of = rest.number()? as usize;
    if rest.take(of)? != fingerprint {
        return None;
    }
    let length = rest.number()? as usize;
    let origins: Vec<Origin> = serde_json::from_slice(rest.take(length)?).ok()?;
    let provenance = shared_provenance(&origins);
    let rows = rest.number()? as usize;
    let words = rows.checked_mul(8)?;
    let (time, value, original) = (rest.take(words)?, rest.take(words)?, rest.take(words)?);
    let (depth, origin) = (rest.take(words)?, rest.take(rows.checked_mul(4)?)?);
    let (flag, present) = (rest.take(rows)?, rest.take(rows)?);

    let micros = |i: usize| i64::from_le_bytes(word(time, i));
    let first = from.map_or(0, |from| first_from(rows, from.timestamp_micros(), micros));
    let mut found = Vec::with_capacity(rows - first);
    for i in first..rows {
        let index = u32::from_le_bytes(origin[4 * i..4 * i + 4].try_into().ok()?) as usize;
        let shared = origins.get(index)?;
        let number = |column: &[u8], bit: u8| {
            let bits = u64::from_le_bytes(word(column, i));
            (present[i] & bit != 0).then(|| f64::from_bits(bits))
        };
        found.push(Observation {
            time: DateTime::from_timestamp_micros(micros(i))?,
            depth_m: number(depth, HAS_DEPTH),
            value: number(value, HAS_VALUE),
            original_value: number(original, HAS_ORIGINAL),
            approval: shared.approval,
            qualifier: shared.qualifier.clone(),
            flag: Flag::from_code(flag[i])?,
            provenance: Arc::clone(&provenance[index]),
        });
    }
    Some(found)
}

/// The first of `rows` rows whose time is not before `from`.
fn first_from(rows: usize, from: i64, time: impl Fn(usize) -> i64) -> usize {
    let (mut low, mut high) = (0, rows);
    while low < high {
        let middle = low.midpoint(high);
        if time(middle) < from {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}

/// Writes a snapshot of `rows`. The caller holds the lock. What goes wrong leaves no snapshot, which
/// costs time and nothing else.
pub(super) fn write(path: &Path, fingerprint: &[u8], rows: &[Observation]) {
    let (origin, origins) = origins(rows);
    let Ok(notes) = serde_json::to_vec(&origins) else {
        return;
    };
    let mut body = Vec::with_capacity(rows.len() * 38 + notes.len() + fingerprint.len() + 64);
    let mut block = |bytes: &[u8]| {
        body.extend((bytes.len() as u64).to_le_bytes());
        body.extend(bytes);
    };
    block(fingerprint);
    block(&notes);
    body.extend((rows.len() as u64).to_le_bytes());
    rows.iter()
        .for_each(|r| body.extend(r.time.timestamp_micros().to_le_bytes()));
    for column in [
        |r: &Observation| r.value,
        |r: &Observation| r.original_value,
        |r: &Observation| r.depth_m,
    ] {
        rows.iter()
            .for_each(|r| body.extend(column(r).unwrap_or(0.0).to_bits().to_le_bytes()));
    }
    origin.iter().for_each(|o| body.extend(o.to_le_bytes()));
    body.extend(rows.iter().map(|r| r.flag.code()));
    body.extend(rows.iter().map(|r| {
        u8::from(r.value.is_some()) * HAS_VALUE
            + u8::from(r.original_value.is_some()) * HAS_ORIGINAL
            + u8::from(r.depth_m.is_some()) * HAS_DEPTH
    }));
    let bytes = [MARK.as_slice(), &checksum_of(&body).to_le_bytes(), &body].concat();
    // Not synced: a torn snapshot fails its checksum.
    let unfinished = path.with_extension("snapshot.unfinished");
    if fs::write(&unfinished, bytes)
        .and_then(|()| fs::rename(&unfinished, path))
        .is_err()
    {
        let _ = fs::remove_file(unfinished);
    }
}

/// Bytes not yet read.
struct Rest<'a>(&'a [u8]);

impl<'a> Rest<'a> {
    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        Some(taken)
    }

    fn number(&mut self) -> Option<u64> {
        Some(u64::from_le_bytes(self.take(8)?.try_into().ok()?))
    }
}

fn word(column: &[u8], i: usize) -> [u8; 8] {
    let mut word = [0; 8];
    word.copy_from_slice(&column[8 * i..8 * i + 8]);
    word
}

/// A checksum against torn and altered bytes, no defence against a forger: words are mixed in by
/// exclusive or, an odd multiplier (2^64 over the golden ratio) and a rotation, so that each step can be
/// undone and no single altered word goes unnoticed.
fn checksum_of(bytes: &[u8]) -> u64 {
    const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
    let mix = |sum: u64, word: u64| (sum ^ word).wrapping_mul(ODD).rotate_left(29);
    let mut words = bytes.chunks_exact(8);
    let mut sum = words.by_ref().fold(bytes.len() as u64, |sum, chunk| {
        mix(sum, u64::from_le_bytes(word(chunk, 0)))
    });
    let mut last = [0; 8];
    last[..words.remainder().len()].copy_from_slice(words.remainder());
    sum = mix(sum, u64::from_le_bytes(last));
    sum
}

#[cfg(test)]
mod tests {
    use super::super::table::tests::rows;
    use super::*;

    #[test]
    fn a_snapshot_gives_the_rows_back_and_only_for_the_same_files() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("continuous.snapshot");
        write(&path, b"these files", &rows());
        assert_eq!(read(&path, b"these files", None).unwrap(), rows());
        assert_eq!(
            read(&path, b"these files", Some(rows()[2].time)).unwrap(),
            rows()[2..]
        );
        assert_eq!(read(&path, b"other files", None), None);
        assert_eq!(read(&folder.path().join("none"), b"these files", None), None);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_snapshot_cut_short_or_altered_is_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("continuous.snapshot");
        write(&path, b"these files", &rows());
        let whole = fs::read(&path).unwrap();
        for at in 0..whole.len() {
            fs::write(&path, &whole[..at]).unwrap();
            assert_eq!(read(&path, b"these files", None), None, "cut to {at}");
            let mut altered = whole.clone();
            altered[at] ^= 0x40;
            fs::write(&path, &altered).unwrap();
            assert_eq!(read(&path, b"these files", None), None, "byte {at} altered");
        }
    }
}
