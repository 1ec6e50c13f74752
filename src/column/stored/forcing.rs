//! The chain: weather, rivers, releases and level up to the clock, then each member ahead.

use chrono::{DateTime, Utc};

use super::ahead::{Ahead, AllGathered, FIRST, ORDER, curve, mean_within, track};
use super::error::StoredForcingError;
use super::known::known_at;
use super::note::StoredNote;
use super::past::{Gathered, Gatherer};
use super::rivers::Rivers;
use super::seam::StoredSeam;
use super::wanted::Wanted;
use super::water::{Releases, level_m};
use super::window::{HOUR_S, Window};
use crate::clock::LakeClock;
use crate::column::forcing::{Forcing, Site, SunOver, Weather, WeatherRecord, weather_steps};
use crate::conditions::daily_water;
use crate::lake::{Lake, WeatherWhat};
use crate::math::span_means::SpanRow;
use crate::series::{Gap, SeriesSet};

/// What is wanted of the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StoredOptions {
    /// Beginning of the past; the next whole hour counts.
    pub from: DateTime<Utc>,
    /// The clock: nothing later is used, and the last whole hour before it ends the past.
    pub as_of: DateTime<Utc>,
    /// Members ahead.
    pub members: usize,
    /// Seed of every draw.
    pub seed: u64,
    /// Longest time ahead, days; 0 for none.
    pub ahead_days: u32,
}

/// The forcing that the store gives.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredForcing {
    /// Hours up to the clock.
    pub past: Forcing,
    /// Hours from the clock on, one forcing a member; empty where nothing is forecast. The level is empty in all.
    pub ahead: Vec<Forcing>,
    /// How sources were joined.
    pub seams: Vec<StoredSeam>,
    /// Where each quantity comes from, and what was derived.
    pub notes: Vec<StoredNote>,
    /// What is not known, and what stands in.
    pub gaps: Vec<Gap>,
}

/// The forcing of a lake from its series, as they were known at `options.as_of`.
///
/// Up to the clock every hour has the best that is known: values within the day of the base source (a station before a model),
/// then of the others on its scale ([`StoredSeam`]), then daily values (which keep their mean: sunlight follows the sun's height,
/// the rest a smooth curve), then hours of forecasts that have passed, then what quality checks suspect; holes of at
/// most 6 hours (3 days beside daily values) are bridged, longer ones filled by the same days of other years, and told as gaps.
/// Rivers go by [`crate::conditions::daily_water`] and the hours of their gauges, their temperature, where it is not measured, by the river
/// equation that the quick model fits.
///
/// Ahead there is one forcing for each member, the member's own weather of the forecast; rivers and release go on as for the level
/// ahead of the brief. The same seed and member give the same numbers, whatever members stand beside.
///
/// # Errors
/// [`StoredForcingError`]: no whole hour, or a quantity that is not known and that nothing stands in for.
pub fn stored_forcing(
    lake: &Lake,
    set: &SeriesSet,
    options: &StoredOptions,
) -> Result<StoredForcing, StoredForcingError> {
    let clock = LakeClock::new(lake.time_zone);
    let known = known_at(set, options.as_of, &clock);
    let set: &SeriesSet = &known;
    let window = Window::new(options.from, options.as_of, &clock).ok_or(StoredForcingError::Span {
        from: options.from,
        as_of: options.as_of,
    })?;
    let site = Site {
        latitude_deg: lake.latitude_deg,
        longitude_deg: lake.longitude_deg,
        elevation_m: lake.full_pool_elevation_m,
    };
    let sun = SunOver::new(site, window.steps());
    let mut gatherer = Gatherer {
        lake,
        set,
        clock,
        window: &window,
        today: clock.standard_day(options.as_of),
        sun: &sun,
        notes: Vec::new(),
        gaps: Vec::new(),
        seams: Vec::new(),
    };
    let (all, record) = gathered(&mut gatherer)?;
    let (weather, notes) = weather_steps(&record, site, window.steps())?;
    gatherer.notes.extend(notes.into_iter().map(StoredNote::Weather));

    let water = daily_water(lake, set);
    let mut rivers = Rivers::of(
        &mut gatherer,
        &water,
        options.ahead_days > 0 && options.members > 0,
    )?;
    let releases = Releases::of(&mut gatherer, &water)?;
    let level_m = level_m(&mut gatherer, &water);
    let past = Forcing {
        start: window.start,
        step_s: HOUR_S,
        weather,
        rivers: rivers.past(),
        release_m3s: releases.past(lake),
        level_m,
    };
    let ahead = match Ahead::of(&mut gatherer, &all, (site, options.ahead_days)) {
        Some(ahead) => members_ahead(
            &mut gatherer,
            (&ahead, &past.weather),
            (&mut rivers, &releases),
            options,
        )?,
        None => Vec::new(),
    };
    Ok(StoredForcing {
        past,
        ahead,
        seams: gatherer.seams,
        notes: gatherer.notes,
        gaps: gatherer.gaps,
    })
}

/// What is known of each quantity, and the record of the window made of it.
pub(super) fn gathered<'a>(
    gatherer: &mut Gatherer<'a, '_>,
) -> Result<(AllGathered<'a>, WeatherRecord), StoredForcingError> {
    let air = gatherer.gather(FIRST, &|_, _| None);
    record_of(gatherer, air, |gatherer, wanted, air| {
        gatherer.gather(wanted, air)
    })
}

/// The record of the window with what `gather` finds of every quantity but the air, which is given.
pub(super) fn record_of<'a>(
    gatherer: &mut Gatherer<'a, '_>,
    air: Gathered<'a>,
    mut gather: impl FnMut(&mut Gatherer<'a, '_>, Wanted, &dyn Fn(f64, f64) -> Option<f64>) -> Gathered<'a>,
) -> Result<(AllGathered<'a>, WeatherRecord), StoredForcingError> {
    let window = gatherer.window;
    let air_rows = gatherer.whole(&air)?;
    let air_curve = curve(&air_rows, window);
    let air_mean = |from: f64, to: f64| mean_within(air_curve.as_ref()?, window, from, to);
    let [vapour, wind, direction, sun, longwave, cloud, pressure, rain] =
        ORDER.map(|wanted| gather(gatherer, wanted, &air_mean));
    let mut record = WeatherRecord::new();
    let mut add = |of: &Gathered<'_>, rows: Vec<SpanRow>| {
        record.insert(of.wanted.what, track(rows));
    };
    add(&air, air_rows);
    add(&vapour, gatherer.whole(&vapour)?);
    add(&wind, gatherer.whole(&wind)?);
    if !direction.rows.is_empty() {
        add(&direction, direction.rows.clone());
    }
    for optional in [&longwave, &pressure] {
        if let Some(rows) = gatherer.if_whole(optional) {
            add(optional, rows);
        }
    }
    // Of rain that is known in part the rest is as in other years, where those are known.
    if !rain.rows.is_empty() {
        match gatherer.whole(&rain) {
            Ok(rows) => add(&rain, rows),
            Err(_) => drop(gatherer.if_whole(&rain)),
        }
    }
    let cloud_rows = gatherer.if_whole(&cloud);
    // Cloud of the very hours tells more of sunlight than the sunlight of other years.
    let sun_rows = match &cloud_rows {
        Some(_) if sun.rows.is_empty() => None,
        Some(cloud_rows) if gatherer.missing_s(&sun) > 0.0 => {
            let filled = gatherer.sun_from_cloud(&sun, cloud_rows);
            Some(gatherer.whole(&filled)?)
        }
        _ => Some(gatherer.whole(&sun)?),
    };
    if let Some(rows) = sun_rows {
        add(&sun, rows);
    }
    if let Some(rows) = cloud_rows {
        add(&cloud, rows);
    }
    debug_assert!(record.contains_key(&WeatherWhat::AirTemp));
    let all = AllGathered {
        air,
        vapour,
        wind,
        direction,
        sun,
        longwave,
        cloud,
        pressure,
        rain,
    };
    Ok((all, record))
}

/// One forcing a member.
fn members_ahead(
    gatherer: &mut Gatherer<'_, '_>,
    (ahead, past): (&Ahead<'_>, &[Weather]),
    (rivers, releases): (&mut Rivers, &Releases),
    options: &StoredOptions,
) -> Result<Vec<Forcing>, StoredForcingError> {
    rivers.look_ahead(gatherer, &ahead.window);
    let releases = releases.ahead(gatherer, &ahead.window);
    gatherer.notes.push(StoredNote::LevelFollowsFlows);
    if options.members > ahead.issued_members() && ahead.issued_members() > 1 {
        gatherer.notes.push(StoredNote::MembersAgain {
            issued: ahead.issued_members(),
            wanted: options.members,
        });
    }
    let mut members = Vec::with_capacity(options.members);
    for member in 0..options.members {
        let (weather, notes) = ahead.member(member, options.seed)?;
        if member == 0 {
            gatherer
                .notes
                .extend(notes.into_iter().map(StoredNote::WeatherAhead));
        }
        let air_degc: Vec<f64> = weather.iter().map(|w| w.air_temp_degc).collect();
        let before: Vec<f64> = past.iter().map(|w| w.air_temp_degc).collect();
        members.push(Forcing {
            start: ahead.window.start,
            step_s: HOUR_S,
            rivers: rivers.ahead(&ahead.window, (&before, &air_degc), (member, options.seed))?,
            release_m3s: releases.member(gatherer.lake, &ahead.window, (member, options.seed)),
            weather,
            level_m: Vec::new(),
        });
    }
    Ok(members)
}
