//! Wind and sky through the trip and two hours after it.

use chrono::{DateTime, Duration, Utc};

use super::choice::{chain_with, forecast_to_take, late_forecast};
use super::morning::{Morning, caution_given, left_out, wider};
use super::{AirHour, SkyCondition, TripWindow, WindCondition, WindHour};
use crate::lake::SeriesPlace;
use crate::math::quantiles::quantile_of_sorted;
use crate::quantity::Quantity;
use crate::series::{ForecastBatch, Gap, GapReason, Member};

/// Hours after the trip that still count: nobody is off the water on the minute (series-and-skill 8).
pub const AFTER_TRIP_H: i64 = 2;
/// Share of the members that the stated wind is not below (series-and-skill 8).
const WIND_QUANTILE_FRAC: f64 = 0.90;
/// Fog is likely below this spread of air temperature over dew point, and this wind (project choices).
const FOG_SPREAD_DEGC: f64 = 1.0;
const FOG_WIND_M_S: f64 = 2.0;
/// Longest step of a forecast that still says something of the hours between, hours (project choice).
const LONGEST_STEP_H: i64 = 6;

/// The part of a forecast that covers the trip: whole steps, for the members that have all of them.
pub(super) struct Covered<'a> {
    batch: &'a ForecastBatch,
    /// Positions of the steps in the batch.
    steps: std::ops::Range<usize>,
    /// Positions of the members with a value in every step; the control, or the lowest member, first.
    members: Vec<usize>,
}

impl Covered<'_> {
    /// The part of `batch` that covers `from` to `to`; `None` where it does not.
    pub fn of<'a>(batch: &'a ForecastBatch, from: DateTime<Utc>, to: DateTime<Utc>) -> Option<Covered<'a>> {
        let time = &batch.time;
        if to < from || !time.is_sorted() {
            return None;
        }
        // The last step at or before the beginning to the first at or after the end.
        let first = time.partition_point(|t| *t <= from).checked_sub(1)?;
        let last = time.partition_point(|t| *t < to);
        let steps = first..last.checked_add(1)?;
        let regular = time
            .get(steps.clone())?
            .windows(2)
            .all(|w| w[1] - w[0] <= Duration::hours(LONGEST_STEP_H));
        let mut members: Vec<usize> = (0..batch.members.len())
            .filter(|&m| {
                let values = batch.value.get(m).and_then(|v| v.get(steps.clone()));
                values.is_some_and(|v| v.iter().all(|x| x.is_some_and(f64::is_finite)))
            })
            .collect();
        members.sort_by_key(|&m| batch.members.get(m).copied().unwrap_or(Member(u16::MAX)));
        (regular && !members.is_empty()).then_some(Covered {
            batch,
            steps,
            members,
        })
    }

    /// When it was issued.
    pub fn issued_at(&self) -> DateTime<Utc> {
        self.batch.issued_at
    }

    /// Values of a member through the trip.
    fn values(&self, member: usize) -> impl Iterator<Item = f64> + '_ {
        self.batch.value[member][self.steps.clone()]
            .iter()
            .flatten()
            .copied()
    }

    /// Times and values of the control run (the lowest member where the control is not there).
    fn control(&self) -> impl Iterator<Item = (DateTime<Utc>, f64)> + '_ {
        self.batch.time[self.steps.clone()]
            .iter()
            .copied()
            .zip(self.values(self.members[0]))
    }

    /// Value of the control run at `time`.
    fn control_at(&self, time: DateTime<Utc>) -> Option<f64> {
        self.control().find(|(t, _)| *t == time).map(|(_, v)| v)
    }

    /// Quantile over members at `time`; `None` where the forecast has no such step.
    fn over_members_at(&self, time: DateTime<Utc>, at_frac: f64) -> Option<f64> {
        let step = self.batch.time[self.steps.clone()]
            .iter()
            .position(|t| *t == time)?;
        let mut values: Vec<f64> = self
            .members
            .iter()
            .filter_map(|&m| self.values(m).nth(step))
            .collect();
        values.sort_by(f64::total_cmp);
        quantile_of_sorted(&values, at_frac)
    }

    /// Quantile over members of each member's figure.
    fn over_members(&self, at_frac: f64, figure: impl Fn(&mut dyn Iterator<Item = f64>) -> f64) -> f64 {
        let mut figures: Vec<f64> = self
            .members
            .iter()
            .map(|&m| figure(&mut self.values(m)))
            .collect();
        figures.sort_by(f64::total_cmp);
        quantile_of_sorted(&figures, at_frac)
            .expect("what is covered has a member, and the callers' shares lie within 0 to 1")
    }
}

fn highest(values: &mut dyn Iterator<Item = f64>) -> f64 {
    values.fold(f64::NEG_INFINITY, f64::max)
}

fn lowest(values: &mut dyn Iterator<Item = f64>) -> f64 {
    values.fold(f64::INFINITY, f64::min)
}

/// The weather of one trip.
pub(super) struct TripWeather<'a, 'm> {
    morning: &'m Morning<'a>,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
}

impl<'a, 'm> TripWeather<'a, 'm> {
    pub fn new(morning: &'m Morning<'a>, trip: &TripWindow) -> Self {
        TripWeather {
            morning,
            from: trip.from,
            to: trip.to + Duration::hours(AFTER_TRIP_H),
        }
    }

    /// The forecast of `quantity` to take: of series that stand in for each other as [`forecast_to_take`] has
    /// it; of those an ensemble that covers the trip, else a plain run that does.
    fn forecast(&self, quantity: Quantity) -> Result<Covered<'a>, GapReason> {
        let places: [SeriesPlace; 2] = self.morning.lake_places();
        let lake = self.morning.lake;
        let sources: Vec<_> = places.iter().flat_map(|p| lake.series_of(quantity, p)).collect();
        if sources.is_empty() {
            return Err(GapReason::NotDescribed);
        }
        let set = self.morning.set;
        let batches: Vec<&'a ForecastBatch> = sources.iter().filter_map(|s| set.forecast(&s.id)).collect();
        if batches.is_empty() {
            return Err(GapReason::NoData);
        }
        let firsts = sources.iter().filter(|s| chain_with(lake, s)[0].id == s.id);
        let mut covered: Vec<Covered<'a>> = firsts
            .filter_map(|first| forecast_to_take(self.morning, &lake.chain_of(first), self.from, self.to))
            .map(|(_, covered)| covered)
            .collect();
        covered.sort_by_key(|c| c.members.len() < 2);
        let found = batches
            .iter()
            .map(|b| b.time.iter().filter(|t| self.holds(**t)).count())
            .max()
            .unwrap_or(0);
        let wanted = usize::try_from((self.to - self.from).num_hours() + 1).unwrap_or(0);
        covered
            .into_iter()
            .next()
            .ok_or(GapReason::TooFew { found, wanted })
    }

    fn holds(&self, time: DateTime<Utc>) -> bool {
        (self.from..=self.to).contains(&time)
    }

    /// The hours that count.
    pub fn window(&self) -> (DateTime<Utc>, DateTime<Utc>) {
        (self.from, self.to)
    }

    /// Wind; without it a gap that gives the caution, because the danger cannot be judged.
    pub fn wind(&self, gaps: &mut Vec<Gap>) -> Option<WindCondition> {
        let speed = match self.forecast(Quantity::WindSpeed) {
            Ok(speed) => speed,
            Err(reason) => {
                gaps.push(caution_given("wind_speed", reason, "wind"));
                return None;
            }
        };
        self.late_forecast(&speed, Quantity::WindSpeed, gaps);
        let gust = self
            .forecast(Quantity::WindGust)
            .map_err(|r| gaps.push(wider("wind_gust", r, "wind")))
            .ok();
        let direction = self.forecast(Quantity::WindDirection);
        let direction = direction
            .map_err(|r| gaps.push(left_out("wind_direction", r, "waves by direction")))
            .ok();
        let hours: Vec<WindHour> = speed
            .control()
            .map(|(time, speed_m_s)| WindHour {
                time,
                speed_m_s,
                gust_m_s: gust.as_ref().and_then(|g| g.control_at(time)),
                direction_deg: direction.as_ref().and_then(|d| d.control_at(time)),
                speed_high_m_s: speed.over_members_at(time, WIND_QUANTILE_FRAC),
                gust_high_m_s: gust
                    .as_ref()
                    .and_then(|g| g.over_members_at(time, WIND_QUANTILE_FRAC)),
            })
            .collect();
        let windiest = hours.iter().max_by(|a, b| a.speed_m_s.total_cmp(&b.speed_m_s));
        Some(WindCondition {
            from: self.from,
            to: self.to,
            speed_max_m_s: speed.over_members(WIND_QUANTILE_FRAC, highest),
            gust_max_m_s: gust.as_ref().map(|g| g.over_members(WIND_QUANTILE_FRAC, highest)),
            direction_deg: windiest.and_then(|h| h.direction_deg),
            members: speed.members.len(),
            issued_at: speed.batch.issued_at,
            hours,
        })
    }

    fn late_forecast(&self, used: &Covered, quantity: Quantity, gaps: &mut Vec<Gap>) {
        let Some(source) = self
            .morning
            .lake
            .series
            .iter()
            .find(|s| s.id == used.batch.key.id)
        else {
            return;
        };
        if let Some(reason) = late_forecast(self.morning, source, used.batch.issued_at) {
            gaps.push(wider(source.id.as_str(), reason, quantity.word()));
        }
    }

    /// Fog, rain, thunder and air; `None` where nothing of it is forecast. What is not forecast and
    /// concerns safety becomes a gap that gives its caution.
    pub fn sky(&self, gaps: &mut Vec<Gap>) -> Option<SkyCondition> {
        let air = self.forecast(Quantity::AirTemp);
        let dew = self.forecast(Quantity::DewPoint);
        let wind = self.forecast(Quantity::WindSpeed);
        let visibility = self.forecast(Quantity::Visibility);
        let thunder = self.forecast(Quantity::ThunderProbability);
        let rain = self.forecast(Quantity::Precipitation);
        let fog_likely = match (&air, &dew, &wind) {
            (Ok(air), Ok(dew), Ok(wind)) => fog_likely(air, dew, wind),
            _ => None,
        };
        // Low visibility and high chances count by the member that is not the kindest: the tenth.
        let sky = SkyCondition {
            visibility_min_m: visibility
                .as_ref()
                .ok()
                .map(|v| v.over_members(1.0 - WIND_QUANTILE_FRAC, lowest)),
            thunder_max_prob: thunder
                .as_ref()
                .ok()
                .map(|t| t.over_members(WIND_QUANTILE_FRAC, highest)),
            // A step's rain fell before its stamp, so the first step's belongs to the time before.
            precipitation_m: rain
                .as_ref()
                .ok()
                .map(|r| r.control().filter(|(t, _)| *t > self.from).map(|(_, v)| v).sum()),
            air_temp_min_degc: air
                .as_ref()
                .ok()
                .map(|a| lowest(&mut a.control().map(|(_, v)| v))),
            air_temp_max_degc: air
                .as_ref()
                .ok()
                .map(|a| highest(&mut a.control().map(|(_, v)| v))),
            air_hours: air.as_ref().map_or_else(
                |_| Vec::new(),
                |a| {
                    a.control()
                        .map(|(time, air_temp_degc)| AirHour { time, air_temp_degc })
                        .collect()
                },
            ),
            fog_likely,
        };
        if let Err(reason) = thunder {
            gaps.push(caution_given("thunder_probability", reason, "thunder"));
        }
        match visibility {
            Err(reason) if fog_likely.is_none() => gaps.push(caution_given("visibility", reason, "fog")),
            Err(reason) => gaps.push(wider("visibility", reason, "fog")),
            Ok(_) => {}
        }
        for (result, quantity) in [(air, Quantity::AirTemp), (rain, Quantity::Precipitation)] {
            if let Err(reason) = result {
                gaps.push(left_out(quantity.word(), reason, quantity.word()));
            }
        }
        let nothing = sky.visibility_min_m.is_none()
            && sky.thunder_max_prob.is_none()
            && sky.precipitation_m.is_none()
            && sky.air_temp_min_degc.is_none();
        (!nothing).then_some(sky)
    }
}

/// Whether air and dew point come within 1 degC of each other in light wind at some hour of the control
/// run; `None` where no hour has all three.
fn fog_likely(air: &Covered, dew: &Covered, wind: &Covered) -> Option<bool> {
    let mut known = None;
    for (time, air_degc) in air.control() {
        let (Some(dew_degc), Some(wind_m_s)) = (dew.control_at(time), wind.control_at(time)) else {
            continue;
        };
        let fog = air_degc - dew_degc < FOG_SPREAD_DEGC && wind_m_s < FOG_WIND_M_S;
        known = Some(known.unwrap_or(false) || fog);
    }
    known
}
