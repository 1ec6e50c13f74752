//! Assimilation on recorded lakes: casts at some depths, every other one of them, against the other depths and days.

use std::collections::BTreeMap;
use std::io::Read as _;

use chrono::{DateTime, Datelike as _, NaiveDate, NaiveDateTime, Timelike as _, Utc};
use plungeline::column::assimilate::{
    AssimilationOptions, FactorSpread, Localisation, WaterField, WaterObservation, draw_factors,
    value_at_depth,
};
use plungeline::column::forcing::{Forcing, Weather};
use plungeline::column::layered::{ModelFactors, OxygenDemand};
use plungeline::column::reservoir::{Ensemble, LakeSetup};
use plungeline::lake::Hypsography;
use plungeline::physics::atmosphere::standard_pressure_pa;

use crate::validation::data;

/// Lanes of a block, and blocks: 32 members.
const LANES: usize = 8;
const BLOCKS: usize = 4;
/// Error of a cast against the mean of a layer of the lake, degC: internal waves, and the day instead of the hour
/// (project choice).
const ERROR_DEGC: f64 = 0.5;

/// A lake of the recorded data with what its README says of it.
pub struct Recorded {
    pub folder: &'static str,
    pub latitude_deg: f64,
    pub elevation_m: f64,
    pub extinction_per_m: f64,
    /// First and last year; the first is for the start alone.
    pub years: (i32, i32),
    /// Casts closer to the last one than this are left out, days.
    pub apart_days: i64,
    /// Depths that are taken up, m; all others are held back.
    pub seen_m: &'static [f64],
    /// Half-width of the localisation, m.
    pub half_width_m: f64,
    /// Weight on the members' factors, 0 to 1.
    pub factor_weight_frac: f64,
}

pub const RAPPBODE: Recorded = Recorded {
    folder: "rappbode-reservoir",
    latitude_deg: 51.74,
    // From memory.
    elevation_m: 420.0,
    extinction_per_m: 0.45,
    years: (2012, 2016),
    apart_days: 5,
    seen_m: &[0.0, 10.0, 30.0],
    half_width_m: 8.0,
    factor_weight_frac: 1.0,
};

pub const ERKEN: Recorded = Recorded {
    folder: "erken",
    latitude_deg: 59.84,
    elevation_m: 11.0,
    extinction_per_m: 0.44,
    years: (2005, 2008),
    apart_days: 7,
    seen_m: &[1.0, 9.0],
    half_width_m: 8.0,
    factor_weight_frac: 1.0,
};

fn text(path: &str) -> Option<String> {
    let path = data(path)?;
    let bytes = std::fs::read(&path).expect("readable");
    let mut text = String::new();
    if path.extension().is_some_and(|e| e == "gz") {
        flate2::read::GzDecoder::new(&bytes[..])
            .read_to_string(&mut text)
            .expect("gzip of text");
    } else {
        text = String::from_utf8(bytes).expect("text");
    }
    Some(text)
}

/// Columns of a table by name, blanks as not a number; the first column is the time where there is one.
fn table(text: &str, names: &[&str]) -> Vec<(NaiveDateTime, Vec<f64>)> {
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let places: Vec<usize> = names
        .iter()
        .map(|n| header.iter().position(|h| h == n).expect("the column"))
        .collect();
    let row = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        let time = fields[0];
        let time = NaiveDateTime::parse_from_str(time, "%Y-%m-%dT%H:%M:%S").or_else(|_| {
            NaiveDate::parse_from_str(time, "%Y-%m-%d").map(|d| d.and_hms_opt(12, 0, 0).expect("noon"))
        });
        let numbers = places
            .iter()
            .map(|p| fields[*p].parse().unwrap_or(f64::NAN))
            .collect();
        (time.unwrap_or_default(), numbers)
    };
    lines.map(row).collect()
}

/// Mean cosine of the zenith while the sun is up, from declination and hour angle (Cooper 1969), UTC taken as the
/// sun's own time.
fn sun_height_frac(middle: NaiveDateTime, latitude_deg: f64, step_h: f64) -> f64 {
    let day = f64::from(middle.ordinal());
    let declination = (23.45 * ((284.0 + day) / 365.0 * std::f64::consts::TAU).sin()).to_radians();
    let latitude = latitude_deg.to_radians();
    let height = |hour: f64| {
        let angle = ((hour - 12.0) * 15.0).to_radians();
        latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * angle.cos()
    };
    let middle_h = f64::from(middle.hour());
    let up: Vec<f64> = (0..6)
        .map(|i| height(middle_h + step_h * ((f64::from(i) + 0.5) / 6.0 - 0.5)))
        .filter(|h| *h > 0.0)
        .collect();
    if up.is_empty() {
        0.0
    } else {
        up.iter().sum::<f64>() / up.len() as f64
    }
}

/// Weather every three hours, as steps of an hour with one weather each three.
fn forcing(lake: &Recorded) -> Option<Forcing> {
    let text = text(&format!("lakes/{}/weather.csv.gz", lake.folder))?;
    let names = [
        "air_temp_degc",
        "shortwave_w_m2",
        "longwave_w_m2",
        "wind_speed_m_s",
        "vapour_pressure_hpa",
    ];
    let rows = table(&text, &names);
    let wanted = rows
        .iter()
        .filter(|(time, _)| (lake.years.0..=lake.years.1).contains(&time.year()));
    let mut weather = Vec::new();
    for (time, row) in wanted {
        let one = Weather {
            air_temp_degc: row[0],
            vapour_pressure_pa: 100.0 * row[4],
            pressure_pa: standard_pressure_pa(lake.elevation_m),
            wind_speed_m_s: row[3],
            wind_from_deg: None,
            sunlight_w_m2: row[1],
            sun_height_frac: sun_height_frac(*time, lake.latitude_deg, 3.0),
            sky_longwave_w_m2: row[2],
            precipitation_m_s: None,
        };
        weather.extend([one; 3]);
    }
    // Figures are centred on their stamps: the first step begins an hour and a half before.
    let start = NaiveDate::from_ymd_opt(lake.years.0, 1, 1)?
        .and_hms_opt(0, 0, 0)?
        .and_utc();
    Some(Forcing {
        start: start - chrono::Duration::minutes(90),
        step_s: 3600.0,
        weather,
        rivers: Vec::new(),
        release_m3s: Vec::new(),
        level_m: Vec::new(),
    })
}

fn setup(lake: &Recorded) -> Option<LakeSetup> {
    let text = text(&format!("lakes/{}/hypsography.csv", lake.folder))?;
    let mut rows: Vec<(f64, f64)> = table(&text, &["depth_m", "area_m2"])
        .into_iter()
        .map(|(_, r)| (-r[0], r[1]))
        .collect();
    rows.reverse();
    let (elevation_m, area_m2) = rows.into_iter().unzip();
    let hypsography = Hypsography::from_areas(elevation_m, area_m2);
    Some(LakeSetup {
        start_degc: Vec::new(),
        hypsography,
        start_elevation_m: 0.0,
        lowest_elevation_m: 0.0,
        extinction_per_m: [lake.extinction_per_m; 12],
        demand: OxygenDemand {
            bed_g_m2_day: 0.5,
            water_mg_l_day: 0.02,
        },
        outlet_elevation_m: Vec::new(),
    })
}

type Casts = BTreeMap<NaiveDate, Vec<(f64, f64)>>;

/// Casts after the first year: depth and temperature, one number a depth.
fn casts(lake: &Recorded) -> Option<Casts> {
    let name = if lake.folder == "erken" {
        "temperature.csv.gz"
    } else {
        "temperature.csv"
    };
    let text = text(&format!("lakes/{}/{name}", lake.folder))?;
    let mut casts = Casts::new();
    for (time, row) in table(&text, &["depth_m", "water_temp_degc"]) {
        let is_wanted = (lake.years.0 + 1..=lake.years.1).contains(&time.year());
        // Values below 0 are sensors in ice.
        if is_wanted && row[1] >= 0.0 {
            let cast = casts.entry(time.date()).or_default();
            if cast.iter().all(|(depth, _)| *depth != row[0]) {
                cast.push((row[0], row[1]));
            }
        }
    }
    let mut last: Option<NaiveDate> = None;
    casts.retain(|day, cast| {
        let keep = cast.len() >= 4 && last.is_none_or(|l| (*day - l).num_days() >= lake.apart_days);
        if keep {
            last = Some(*day);
        }
        keep
    });
    Some(casts)
}

/// Root of the mean square error of the ensemble's mean, degC, and how many points.
#[derive(Debug, Default, Clone, Copy)]
pub struct Error {
    squares: f64,
    pub points: usize,
}

impl Error {
    fn add(&mut self, difference: f64) {
        self.squares += difference * difference;
        self.points += 1;
    }

    pub fn rmse_degc(&self) -> f64 {
        (self.squares / self.points as f64).sqrt()
    }
}

/// Errors where nothing was taken up.
#[derive(Debug, Default, Clone, Copy)]
pub struct Errors {
    /// At other depths, on the days of casts that are taken up, after the analysis.
    pub depths: Error,
    /// At every depth, on the days of casts that are not.
    pub days: Error,
}

fn draws() -> Vec<[ModelFactors; LANES]> {
    let spread = FactorSpread::default();
    (0..BLOCKS)
        .map(|block| std::array::from_fn(|lane| draw_factors(1, block * LANES + lane, &spread)))
        .collect()
}

/// Runs the lake with or without taking up; every second cast is held back whole.
pub fn errors(lake: &Recorded, takes_up: bool) -> Option<Errors> {
    let (setup, forcing, casts) = (setup(lake)?, forcing(lake)?, casts(lake)?);
    let mut ensemble = Ensemble::<LANES>::cold(&setup, &forcing, &draws()).expect("a lake");
    let options = AssimilationOptions {
        factor_weight_frac: lake.factor_weight_frac,
        ..AssimilationOptions::of(Localisation::of_one(lake.half_width_m))
    };
    let mut errors = Errors::default();
    let order: Vec<NaiveDate> = casts.keys().copied().collect();
    let mut next = 0;
    for step in 0..forcing.weather.len() {
        ensemble.step(&[&forcing], step).expect("a step");
        let time = forcing.step_start(step + 1);
        if next == order.len() || time < noon(order[next]) {
            continue;
        }
        let is_seen = |depth_m: f64| next.is_multiple_of(2) && lake.seen_m.contains(&depth_m);
        let cast = &casts[&order[next]];
        let observations: Vec<WaterObservation> = cast
            .iter()
            .filter(|(depth_m, _)| is_seen(*depth_m))
            .map(|(depth_m, value)| WaterObservation {
                time,
                place: 0,
                depth_m: *depth_m,
                field: WaterField::Temp,
                value: *value,
                error: ERROR_DEGC,
            })
            .collect();
        if takes_up && !observations.is_empty() {
            ensemble.assimilate(&observations, &options).expect("an analysis");
        }
        let error = if next.is_multiple_of(2) {
            &mut errors.depths
        } else {
            &mut errors.days
        };
        for (depth_m, value) in cast.iter().filter(|(depth_m, _)| !is_seen(*depth_m)) {
            if let Some(mean) = mean_at(&ensemble, *depth_m) {
                error.add(mean - value);
            }
        }
        next += 1;
    }
    assert_eq!(next, order.len(), "the weather ends before the casts");
    budget_closes(&ensemble);
    Some(errors)
}

fn noon(day: NaiveDate) -> DateTime<Utc> {
    day.and_hms_opt(12, 0, 0).expect("noon").and_utc()
}

fn mean_at(ensemble: &Ensemble<LANES>, depth_m: f64) -> Option<f64> {
    let at = (WaterField::Temp, depth_m);
    let members = ensemble
        .lakes
        .iter()
        .flat_map(|lake| (0..LANES).map(move |lane| value_at_depth(lake.main().0, lake.main().1, lane, at)));
    let sum: f64 = members.sum::<Option<f64>>()?;
    Some(sum / ensemble.members() as f64)
}

/// Heat of every member is what it began with and what has been booked.
fn budget_closes(ensemble: &Ensemble<LANES>) {
    for lake in &ensemble.lakes {
        // The bound of a run of thirty years, of the heat that the lake holds.
        let [_, warmth, _, _] = lake.relative_residual();
        assert!(warmth < 1e-10, "{warmth}");
    }
}

/// Prints the four figures and gives the two shares of the error that are left.
pub fn shares_left(lake: &Recorded) -> Option<(f64, f64)> {
    let (free, taken) = (errors(lake, false)?, errors(lake, true)?);
    println!(
        "{}: held-back depths {:.2} -> {:.2} degC ({} points), held-back days {:.2} -> {:.2} degC ({} points)",
        lake.folder,
        free.depths.rmse_degc(),
        taken.depths.rmse_degc(),
        free.depths.points,
        free.days.rmse_degc(),
        taken.days.rmse_degc(),
        free.days.points,
    );
    let share = |a: Error, b: Error| b.rmse_degc() / a.rmse_degc();
    Some((share(free.depths, taken.depths), share(free.days, taken.days)))
}

#[test]
fn casts_of_a_deep_reservoir_bring_other_depths_and_other_days_nearer() {
    let Some((depths, days)) = shares_left(&RAPPBODE) else {
        return;
    };
    assert!(depths < 0.9 && days < 0.9, "{depths} {days}");
}

#[test]
fn casts_of_a_shallow_lake_bring_other_depths_and_other_days_nearer() {
    let Some((depths, days)) = shares_left(&ERKEN) else {
        return;
    };
    assert!(depths < 0.9 && days < 0.9, "{depths} {days}");
}

/// The surface alone, as a brief has it from a gauge: taken up by the water and not by the factors.
fn surface_alone(lake: Recorded, surface_m: &'static [f64]) -> Recorded {
    Recorded {
        seen_m: surface_m,
        half_width_m: 2.0,
        factor_weight_frac: 0.0,
        ..lake
    }
}

#[test]
fn readings_of_the_surface_alone_leave_the_deep_water_no_worse() {
    for lake in [surface_alone(RAPPBODE, &[0.0]), surface_alone(ERKEN, &[1.0])] {
        let Some((depths, days)) = shares_left(&lake) else {
            return;
        };
        // A hundredth for what a wrong reading may do.
        assert!(depths < 1.01 && days < 1.01, "{}: {depths} {days}", lake.folder);
    }
}
