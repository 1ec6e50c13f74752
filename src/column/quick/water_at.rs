//! The chain: surface, season, profile, zones, rivers.

use chrono::{DateTime, NaiveDate, Utc};

use super::measured::{MeasuredProfile, MemberProfile, measured_profile};
use super::observed::surface_daily;
use super::profile::{ProfileNoise, ThumbProfile, thumb_profile_degc};
use super::rivers::rivers_at;
use super::season::SeasonState;
use super::surface::{FRESH_DAYS, Surface, SurfaceBasis, days_ahead, outlook, surface_at};
use super::zones::{PoolLevel, ZoneShape, pool_level, zone_shapes};
use crate::clock::LakeClock;
use crate::column::{ProfileBasis, Water, ZoneWater};
use crate::conditions::Conditions;
use crate::lake::{Lake, SeriesPlace, ZoneKind};
use crate::math::streams::{normal, stream};
use crate::series::{Consequence, Gap, GapReason, SeriesSet};

/// Deep water, days of stratification and how wide, where last winter is not known: mid-season values
/// and no more (common practice, no source).
const UNKNOWN_WINTER: SeasonGuess = SeasonGuess {
    winter_degc: 7.0,
    stratified_days: 90.0,
    widen: 3.0,
};
/// Spread of an arm's surface against the main body's, and of an arm shallower than 10 m (common
/// practice, no source).
const ARM_SPREAD_DEGC: (f64, f64) = (0.7, 1.5);
const SHALLOW_ARM_M: f64 = 10.0;
/// Spread where the arm's own surface is measured (common practice, no source).
const ARM_MEASURED_SPREAD_DEGC: f64 = 0.3;
/// A level older than this is no level of today: what is taken at it is named (project choice: a daily value
/// may be 60 h old, and a foot more or less closes few arms).
const OLD_LEVEL_H: f64 = 72.0;
/// Depth over which an arm's difference from the main body fades (common practice, no source).
const ARM_DIFFERENCE_M: f64 = 5.0;

struct SeasonGuess {
    winter_degc: f64,
    stratified_days: f64,
    widen: f64,
}

/// How to run the water model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WaterOptions {
    /// Members of the ensemble.
    pub members: usize,
    /// Seed of every draw.
    pub seed: u64,
}

/// The lake's water on the morning of `conditions.as_of`, by member.
///
/// The surface of the main body comes from the air-to-water equation fitted to whatever surface the set
/// holds, drawn to the last observed value; below it stands a measured profile of the last ten days, or
/// a rule of thumb. Zones are cut from it at today's level. Rivers are measured or modelled. What is not
/// known is a gap: without any air or water temperature there are no zones. Oxygen is never known here.
///
/// The same inputs, seed and member give the same numbers, whatever members stand beside it.
pub fn water_at(lake: &Lake, conditions: &Conditions, set: &SeriesSet, options: &WaterOptions) -> Water {
    let clock = LakeClock::new(lake.time_zone);
    let today = clock.standard_day(conditions.as_of);
    let mut gaps = Vec::new();
    let surface = surface_at(lake, conditions, set, options, &mut gaps);
    let level = pool_level(lake, conditions);
    note_geometry(lake, level, conditions.as_of, &mut gaps);
    let air = surface.as_ref().and_then(|s| s.air.as_ref());
    let rivers = rivers_at(lake, conditions, set, options, air, &mut gaps);
    let seams = air.map_or_else(Vec::new, |air| air.seams.clone());
    let Some(surface) = surface else {
        gaps.push(Gap {
            what: "water temperature".to_owned(),
            reason: GapReason::NoData,
            consequence: Consequence::TooThin,
        });
        return Water {
            members: options.members,
            zones: Vec::new(),
            rivers,
            river_ways: Vec::new(),
            columns: None,
            surface_outlook: Vec::new(),
            days_ahead: Vec::new(),
            surface_fit: None,
            seams,
            gaps,
        };
    };
    let measured = measured_profile(lake, set, &clock, today);
    if measured.is_none() {
        gaps.push(Gap {
            what: "temperature profile".to_owned(),
            reason: GapReason::NoData,
            consequence: Consequence::StandIn {
                stand_in: "rule-of-thumb profile".to_owned(),
            },
        });
    }
    let column = Column {
        surface: &surface,
        measured: measured.as_ref(),
        clock,
        today,
        as_of: conditions.as_of,
        options,
    };
    let zones = zone_shapes(lake, level.map(|l| l.elevation_m))
        .into_iter()
        .map(|shape| {
            let place = SeriesPlace::Zone(shape.zone.id.clone());
            let own = (shape.zone.kind == ZoneKind::Arm)
                .then(|| surface_daily(lake, &place, set, &clock))
                .flatten()
                .and_then(|daily| newest_fresh(&daily, today));
            column.zone(shape, own)
        })
        .collect();
    Water {
        members: options.members,
        zones,
        rivers,
        river_ways: Vec::new(),
        columns: None,
        surface_outlook: outlook(&surface.members_degc, today),
        days_ahead: days_ahead(&surface.members_degc, today),
        surface_fit: surface.fit,
        seams,
        gaps,
    }
}

/// A zone's own surface of the last three days, as `(days old, temperature)`.
fn newest_fresh(daily: &crate::series::Daily, today: NaiveDate) -> Option<(usize, f64)> {
    (0..=FRESH_DAYS as usize).find_map(|age| {
        let date = today.checked_sub_days(chrono::Days::new(age as u64))?;
        Some((age, daily.get(date)?))
    })
}

/// Notes what is not known of the zones' geometry: no table, no level, or one too old to be today's. An
/// old level still says more of what is closed than none does, which would open every arm.
fn note_geometry(lake: &Lake, level: Option<PoolLevel>, as_of: DateTime<Utc>, gaps: &mut Vec<Gap>) {
    let figure = "areas and volumes by zone, and which arms are closed".to_owned();
    if lake.hypsography.is_none() {
        gaps.push(Gap {
            what: "hypsography".to_owned(),
            reason: GapReason::NotDescribed,
            consequence: Consequence::LeftOut { figure },
        });
    } else if level.is_none() {
        gaps.push(Gap {
            what: "pool elevation".to_owned(),
            reason: GapReason::NoData,
            consequence: Consequence::LeftOut { figure },
        });
    }
    let age_h = |at: DateTime<Utc>| (as_of - at).num_seconds() as f64 / 3600.0;
    let old = level
        .and_then(|l| l.observed_at)
        .filter(|at| age_h(*at) > OLD_LEVEL_H);
    gaps.extend(old.map(|newest| Gap {
        what: "closed arms, areas and volumes by zone".to_owned(),
        reason: GapReason::Late {
            newest,
            age_h: age_h(newest),
            allowed_h: OLD_LEVEL_H,
        },
        consequence: Consequence::StandIn {
            stand_in: "the pool of that day".to_owned(),
        },
    }));
}

/// What the zones are drawn from.
struct Column<'a> {
    surface: &'a Surface,
    measured: Option<&'a MeasuredProfile>,
    clock: LakeClock,
    today: NaiveDate,
    as_of: DateTime<Utc>,
    options: &'a WaterOptions,
}

impl Column<'_> {
    fn zone(&self, shape: ZoneShape<'_>, own_surface: Option<(usize, f64)>) -> ZoneWater {
        let basis = match shape.zone.kind {
            ZoneKind::Arm => self.arm_basis(own_surface),
            ZoneKind::MainBody | ZoneKind::River => self.main_basis(),
        };
        let season = SeasonState::at_end_of(&self.surface.history_degc);
        let temp_degc = (0..self.options.members)
            .map(|member| {
                let mut profile = self.main_body_degc(member, season.as_ref(), &shape.depth_m);
                if shape.zone.kind == ZoneKind::Arm {
                    self.make_arm(&shape, own_surface, member, &mut profile);
                }
                profile
            })
            .collect();
        ZoneWater {
            zone: shape.zone.id.clone(),
            depth_m: shape.depth_m,
            area_m2: shape.area_m2,
            temp_degc,
            oxygen_mg_l: None,
            parts: Vec::new(),
            max_depth_m: shape.max_depth_m,
            volume_m3: shape.volume_m3,
            basis,
            closed: shape.closed,
        }
    }

    /// Basis of an arm: the main body's measurements are none of its own.
    fn arm_basis(&self, own_surface: Option<(usize, f64)>) -> ProfileBasis {
        let measured_at = |age: usize| {
            let next = self.today + chrono::Days::new(1) - chrono::Days::new(age as u64);
            self.clock.standard_day_start(next).min(self.as_of)
        };
        match (own_surface, self.main_basis()) {
            (Some((age, _)), _) => ProfileBasis::SurfaceMeasured {
                observed_at: measured_at(age),
            },
            (
                None,
                ProfileBasis::Measured { observed_at } | ProfileBasis::SurfaceMeasured { observed_at },
            ) => ProfileBasis::SurfaceFromMainBody { observed_at },
            (None, modelled) => modelled,
        }
    }

    fn main_basis(&self) -> ProfileBasis {
        match (self.measured, self.surface.basis, self.surface.observed) {
            (Some(profile), _, _) => ProfileBasis::Measured {
                observed_at: profile.observed_at,
            },
            (None, SurfaceBasis::Measured, Some(o)) => ProfileBasis::SurfaceMeasured {
                observed_at: o.observed_at,
            },
            (None, SurfaceBasis::SeasonOnly, _) => ProfileBasis::SeasonOnly,
            (None, _, _) => ProfileBasis::SurfaceModelled,
        }
    }

    /// The main body's profile of one member at `depth_m`.
    fn main_body_degc(&self, member: usize, season: Option<&SeasonState>, depth_m: &[f64]) -> Vec<f64> {
        let surface_degc = self.surface.members_degc[member][0];
        let noise = ProfileNoise::of_member(self.options.seed, member);
        if let Some(profile) = self.measured {
            let age_days = (self.today - profile.date).num_days() as f64;
            let member = MemberProfile {
                surface_degc,
                age_days,
                depth_noise: noise.depth_noise,
                temp_noise: noise.temp_noise,
            };
            return profile.today_degc(depth_m, member);
        }
        let guess = SeasonState {
            winter_degc: UNKNOWN_WINTER.winter_degc,
            stratified_days: UNKNOWN_WINTER.stratified_days,
            peak_degc: surface_degc,
        };
        let widen = if season.is_some() {
            1.0
        } else {
            UNKNOWN_WINTER.widen
        };
        let shape = ThumbProfile::of(season.unwrap_or(&guess), surface_degc).spread(noise, widen);
        thumb_profile_degc(&shape, depth_m)
    }

    /// Makes an arm's profile of the main body's: its surface differs, by a measured amount or at
    /// random, and the difference fades with depth. Its water stays stably layered.
    fn make_arm(
        &self,
        shape: &ZoneShape<'_>,
        own_surface: Option<(usize, f64)>,
        member: usize,
        profile_degc: &mut [f64],
    ) {
        let id = shape.zone.id.as_str();
        let mut numbers = stream(self.options.seed, &format!("water/arm/{id}/{member}"));
        let noise = normal(&mut numbers);
        let history = &self.surface.history_degc;
        let difference_degc = match own_surface {
            Some((age, temp_degc)) => {
                let main_degc = history[history.len().saturating_sub(age + 1)..].first().copied();
                temp_degc - main_degc.unwrap_or(temp_degc) + ARM_MEASURED_SPREAD_DEGC * noise
            }
            None => {
                let (usual, shallow) = ARM_SPREAD_DEGC;
                let deep = shape.max_depth_m.is_some_and(|depth_m| depth_m >= SHALLOW_ARM_M);
                noise * if deep { usual } else { shallow }
            }
        };
        let fade = |z: f64| difference_degc * (-z / ARM_DIFFERENCE_M).exp();
        let densest = crate::physics::water::MAX_DENSITY_TEMP_DEGC;
        let warm = profile_degc.first().is_some_and(|t| *t >= densest);
        let mut above = if warm { f64::INFINITY } else { 0.0 };
        for (t, z) in profile_degc.iter_mut().zip(&shape.depth_m) {
            let moved = (*t + fade(*z)).max(0.0);
            // What is denser than the water under it sinks and mixes: above 3.98 degC nothing may be warmer
            // than what lies on it, below nothing colder.
            *t = if warm {
                moved.min(above)
            } else {
                moved.min(densest).max(above)
            };
            above = *t;
        }
    }
}
