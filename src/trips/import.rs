//! A file of trips or of a track: read within bounds, checked as a whole.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};

use super::check::{Known, check_trip};
use super::error::{TripError, TripFault};
use super::forms::{read_column_map, read_foreign_csv, read_trips_csv, read_trips_json, trips_of_parquet};
use super::model::{Origin, Trip};
use super::rows::Placed;
use super::tracks::{CutOptions, CutTrack, cut_track, read_gpx, read_kml};

/// Most bytes of a file (project choice): twenty days of a track at one point a second, or a log of 100,000 trips.
pub const FILE_CAP_BYTES: u64 = 64 * 1024 * 1024;
/// Most bytes of a map of columns.
const MAP_CAP_BYTES: u64 = 1024 * 1024;
/// Faults beyond so many are counted and not listed: a wrong column makes one in every row.
const FAULTS_LISTED: usize = 50;

/// Form of a file of trips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileForm {
    /// Rows in CSV: ours, or by a map of columns.
    Csv,
    /// Our JSON.
    Json,
    /// Our Parquet.
    Parquet,
    /// A track in GPX.
    Gpx,
    /// A track in KML.
    Kml,
}

impl FileForm {
    /// That of a file by its ending.
    pub fn of_path(path: &Path) -> Option<FileForm> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        Some(match ending.as_str() {
            "csv" => FileForm::Csv,
            "json" => FileForm::Json,
            "parquet" => FileForm::Parquet,
            "gpx" => FileForm::Gpx,
            "kml" => FileForm::Kml,
            _ => return None,
        })
    }
}

/// How a file is read.
#[derive(Debug, Clone, Default)]
pub struct ImportOptions {
    /// Its form, whatever its ending says.
    pub form: Option<FileForm>,
    /// The map of columns of a foreign table.
    pub map: Option<PathBuf>,
    /// What a track does not know.
    pub cut: CutOptions,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// Its trips, each of them sound.
    pub trips: Vec<Trip>,
    /// Of a track: how it was cut, without the trips.
    pub cut: Option<CutTrack>,
    /// Points of a track that were left out: without a time, and no later than the one before.
    pub left_out: (usize, usize),
}

/// The trips of a file, all of them sound.
///
/// # Errors
/// [`TripError::Unreadable`], [`TripError::TooLarge`], [`TripError::UnknownForm`], [`TripError::NoOutlines`], and
/// [`TripError::Faulty`] with every fault.
pub fn trips_in_file(path: &Path, options: &ImportOptions, known: &Known<'_>) -> Result<Imported, TripError> {
    let form = options.form.or_else(|| FileForm::of_path(path));
    let form = form.ok_or_else(|| TripError::UnknownForm {
        path: path.to_owned(),
    })?;
    let faulty = |faults| faulty(&path.display().to_string(), faults);
    let (placed, cut, left_out) = match form {
        FileForm::Gpx | FileForm::Kml => {
            let mut file = Bounded::open(path, FILE_CAP_BYTES)?;
            let buffered = BufReader::with_capacity(1 << 16, &mut file);
            let (track, origin) = match form {
                FileForm::Gpx => (read_gpx(buffered), Origin::Gpx),
                _ => (read_kml(buffered), Origin::Kml),
            };
            // Cut off at the bound it seems to have an early end.
            if file.over {
                return Err(TripError::TooLarge {
                    path: path.to_owned(),
                    cap_bytes: FILE_CAP_BYTES,
                });
            }
            let track = track.map_err(|fault| faulty(vec![fault]))?;
            let mut cut = cut_track(&track, known.lake, origin, &options.cut)?;
            let trips = std::mem::take(&mut cut.trips);
            if trips.is_empty() {
                return Err(faulty(vec![nothing_fished(&cut)]));
            }
            let placed = trips.into_iter().map(|trip| Placed {
                place: format!("the track of {}", trip.date),
                trip,
            });
            (placed.collect(), Some(cut), (track.without_time, track.not_later))
        }
        _ => {
            let bytes = bytes_of(path, FILE_CAP_BYTES)?;
            let read = match (form, &options.map) {
                (FileForm::Csv, Some(map)) => {
                    let text = String::from_utf8_lossy(&bytes_of(map, MAP_CAP_BYTES)?).into_owned();
                    let map =
                        read_column_map(&text).map_err(|f| self::faulty(&map.display().to_string(), f))?;
                    read_foreign_csv(&bytes, &map, known)
                }
                (FileForm::Csv, None) => read_trips_csv(&bytes),
                (FileForm::Json, _) => read_trips_json(&bytes),
                _ => trips_of_parquet(&bytes),
            };
            (read.map_err(faulty)?, None, (0, 0))
        }
    };
    let trips = sound(placed, known, &path.display().to_string())?;
    Ok(Imported { trips, cut, left_out })
}

/// Trips that are all sound, tidied.
///
/// # Errors
/// [`TripError::Faulty`] with the faults of all.
pub fn sound(placed: Vec<Placed>, known: &Known<'_>, origin: &str) -> Result<Vec<Trip>, TripError> {
    let faults: Vec<TripFault> = placed
        .iter()
        .flat_map(|p| check_trip(&p.trip, known, &p.place))
        .collect();
    if !faults.is_empty() {
        return Err(faulty(origin, faults));
    }
    Ok(placed.into_iter().map(|p| p.trip.tidied()).collect())
}

/// The error of faults; beyond some they are counted.
pub fn faulty(origin: &str, mut faults: Vec<TripFault>) -> TripError {
    let more = faults.len().saturating_sub(FAULTS_LISTED);
    if more > 0 {
        faults.truncate(FAULTS_LISTED);
        let mend = "mend these first; a wrong column or unit makes one in every row";
        faults.push(TripFault::new(
            "and so on",
            format!("{more} faults more"),
            "none",
            mend,
        ));
    }
    TripError::Faulty {
        origin: origin.to_owned(),
        faults,
    }
}

fn nothing_fished(cut: &CutTrack) -> TripFault {
    let found = format!(
        "no leg: {:.2} h outside every outline, {:.2} h running, {:.2} h in pieces too short for a leg",
        cut.outside_h, cut.running_h, cut.short_h
    );
    let mend = "check the outlines in the lake file, or name the zone with --zone";
    TripFault::new("the track", found, "time on the lake's zones", mend)
}

/// A file of which no more than a bound is read.
struct Bounded {
    file: File,
    left_bytes: u64,
    /// Whether the file has more than that.
    over: bool,
}

impl Bounded {
    /// Opens a file; one whose length is known to be too great is refused at once. A pipe has none that is known.
    fn open(path: &Path, cap_bytes: u64) -> Result<Bounded, TripError> {
        let unreadable = |source| TripError::Unreadable {
            path: path.to_owned(),
            source,
        };
        let file = File::open(path).map_err(unreadable)?;
        if file.metadata().map_err(unreadable)?.len() > cap_bytes {
            return Err(TripError::TooLarge {
                path: path.to_owned(),
                cap_bytes,
            });
        }
        Ok(Bounded {
            file,
            left_bytes: cap_bytes,
            over: false,
        })
    }
}

impl Read for Bounded {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let most = usize::try_from(self.left_bytes)
            .unwrap_or(usize::MAX)
            .min(to.len());
        if most == 0 && !to.is_empty() {
            self.over |= self.file.read(&mut [0])? > 0;
            return Ok(0);
        }
        let got = self.file.read(&mut to[..most])?;
        self.left_bytes -= got as u64;
        Ok(got)
    }
}

fn bytes_of(path: &Path, cap_bytes: u64) -> Result<Vec<u8>, TripError> {
    let mut bytes = Vec::new();
    let mut file = Bounded::open(path, cap_bytes)?;
    file.read_to_end(&mut bytes)
        .map_err(|source| TripError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
    match file.over {
        true => Err(TripError::TooLarge {
            path: path.to_owned(),
            cap_bytes,
        }),
        false => Ok(bytes),
    }
}
