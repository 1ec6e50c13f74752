//! The weather ahead, member by member of the forecast.

use chrono::NaiveDate;

use super::error::StoredForcingError;
use super::forecast::{Issued, member_spans, place_of};
use super::join::holes;
use super::normal::normal;
use super::note::StoredNote;
use super::past::{Gathered, Gatherer};
use super::seam::SeamScale;
use super::wanted::{
    AIR, CLOUD, DIRECTION, LONGWAVE, PRESSURE, RAIN, SUN, VAPOUR, WIND, Wanted, made, own_limits,
};
use super::window::{HOUR_S, Window};
use crate::column::forcing::{Site, SunOver, Track, Weather, WeatherNote, WeatherRecord, weather_steps};
use crate::lake::WeatherWhat;
use crate::math::interpolate::linear_pairs;
use crate::math::span_means::{Curve, Filling, SpanMeans, SpanRow};
use crate::math::streams::{normal as normal_number, stream};
use crate::physics::atmosphere::saturation_vapour_pressure_pa;
use crate::series::{Consequence, Daily, Gap, GapReason, Member};

/// Error of the air temperature of a forecast without members: at its issue, and more a day, at most; and its correlation from
/// one day to the next (common practice, no source; as in the quick model).
const ONE_RUN_ERROR_DEGC: (f64, f64, f64) = (0.6, 0.25, 4.0);
const ONE_RUN_PERSISTENCE: f64 = 0.75;

/// One quantity ahead.
struct Part<'a> {
    wanted: Wanted,
    issued: Option<Issued<'a>>,
    /// Means of other years where the forecast has nothing.
    filling: Vec<SpanRow>,
}

/// The weather ahead, ready to be drawn member by member.
pub(super) struct Ahead<'a> {
    pub window: Window,
    site: Site,
    parts: Vec<Part<'a>>,
    /// Numbers of the members of the forecast of air temperature.
    members: Vec<Member>,
    /// Day of its issue, s since the start.
    issued_s: f64,
    /// Standard error of what is taken off it.
    bias_error_degc: f64,
}

/// All that is known of the weather, quantity by quantity.
pub(super) struct AllGathered<'a> {
    pub air: Gathered<'a>,
    pub vapour: Gathered<'a>,
    pub wind: Gathered<'a>,
    pub direction: Gathered<'a>,
    pub sun: Gathered<'a>,
    pub longwave: Gathered<'a>,
    pub cloud: Gathered<'a>,
    pub pressure: Gathered<'a>,
    pub rain: Gathered<'a>,
}

impl<'a> Ahead<'a> {
    /// What the forecasts say from the clock on, as far as all that must be known reaches, at most `ahead_days`; `None`, with a
    /// gap, where there is no forecast of air temperature, or nothing to stand in for what is not forecast.
    pub fn of(
        gatherer: &mut Gatherer<'a, '_>,
        all: &AllGathered<'a>,
        (site, ahead_days): (Site, u32),
    ) -> Option<Ahead<'a>> {
        let clock = gatherer.clock;
        let start = gatherer.window.end();
        let left_out = |reason| Gap {
            what: "weather ahead".to_owned(),
            reason,
            consequence: Consequence::LeftOut {
                figure: "water of the days ahead".to_owned(),
            },
        };
        let Some(air) = all.air.issued.filter(|_| ahead_days > 0) else {
            if ahead_days > 0 {
                gatherer.gaps.push(left_out(GapReason::NoData));
            }
            return None;
        };
        let needed = [&all.air, &all.vapour, &all.wind, &all.sun];
        let reach = needed
            .iter()
            .filter_map(|g| g.issued?.batch.time.last().copied())
            .min()?;
        let until = reach.min(start + chrono::Duration::days(i64::from(ahead_days)));
        let Some(window) = Window::new(start, until, &clock) else {
            gatherer
                .gaps
                .push(left_out(GapReason::TooFew { found: 0, wanted: 1 }));
            return None;
        };
        let mut ahead = Ahead {
            site,
            parts: Vec::new(),
            members: air.batch.members.clone(),
            issued_s: window.seconds(air.batch.issued_at),
            bias_error_degc: match air.scale {
                SeamScale::Offset(bias) => bias.error(),
                _ => 0.0,
            },
            window,
        };
        let cloud_is_issued = all.cloud.issued.is_some();
        let order = [
            (&all.air, true),
            (&all.vapour, true),
            (&all.wind, true),
            // Without sunlight cloud tells of it.
            (&all.sun, all.sun.issued.is_some() || !cloud_is_issued),
            (&all.direction, false),
            (&all.cloud, false),
            (&all.longwave, false),
            (&all.pressure, false),
            (&all.rain, false),
        ];
        for (gathered, is_needed) in order {
            match ahead.part(gatherer, gathered, is_needed) {
                Ok(part) => ahead.parts.extend(part),
                Err(wanted) => {
                    let found = GapReason::NoData;
                    gatherer.gaps.push(Gap {
                        what: format!("{} ahead", wanted.name),
                        reason: found.clone(),
                        consequence: Consequence::LeftOut {
                            figure: "water of the days ahead".to_owned(),
                        },
                    });
                    return None;
                }
            }
        }
        if air.batch.members.len() < 2 {
            gatherer.notes.push(StoredNote::OneRun {
                series: air.source.id.clone(),
            });
        }
        Some(ahead)
    }

    /// Members of the forecast.
    pub fn issued_members(&self) -> usize {
        self.members.len()
    }

    /// A quantity ahead, with what fills it where it is needed; the quantity where nothing fills it.
    fn part(
        &self,
        gatherer: &mut Gatherer<'a, '_>,
        gathered: &Gathered<'a>,
        is_needed: bool,
    ) -> Result<Option<Part<'a>>, Wanted> {
        let wanted = gathered.wanted;
        let spans = gathered.issued.map(|issued| {
            member_spans(
                issued.batch,
                issued.source.quantity,
                0,
                &self.window,
                own_limits(issued.source.quantity),
            )
        });
        let spans = spans.unwrap_or_default();
        let open: Vec<_> = holes(&spans, &self.window)
            .into_iter()
            .filter(|h| !h.bridged)
            .collect();
        let mut part = Part {
            wanted,
            issued: gathered.issued,
            filling: Vec::new(),
        };
        if open.is_empty() || (wanted.what == WeatherWhat::WindDirection && part.issued.is_some()) {
            return Ok(Some(part));
        }
        if !is_needed {
            return Ok(None);
        }
        let tables = gatherer.tables(gathered);
        for hole in &open {
            for day in 0..self.window.days() {
                let (day_from, day_to) = (self.window.day_edges_s[day], self.window.day_edges_s[day + 1]);
                let (from, to) = (hole.from.max(day_from), hole.to.min(day_to));
                if to - from <= 1.0 {
                    continue;
                }
                let mean = mean_of(&tables, self.window.date(day), gatherer.today).ok_or(wanted)?;
                let share = match wanted.what {
                    WeatherWhat::Shortwave => {
                        SunOver::new(self.site, self.window.steps()).share(from, to, (day_from, day_to))
                    }
                    _ => 1.0,
                };
                part.filling.push(SpanRow {
                    from,
                    to,
                    value: Some(mean * share),
                });
            }
        }
        gatherer.gaps.push(Gap {
            what: format!("{} ahead", wanted.name),
            reason: GapReason::NoData,
            consequence: Consequence::StandIn {
                stand_in: "means of the same days of other years".to_owned(),
            },
        });
        Ok(Some(part))
    }

    /// Weather of one member, and what of it is derived.
    ///
    /// # Errors
    /// [`StoredForcingError::Steps`].
    pub fn member(
        &self,
        member: usize,
        seed: u64,
    ) -> Result<(Vec<Weather>, Vec<WeatherNote>), StoredForcingError> {
        let number = self.members.get(member % self.members.len().max(1)).copied();
        let noise = self.noise_degc(member, seed);
        let mut record = WeatherRecord::new();
        let mut air: Option<Curve> = None;
        for part in &self.parts {
            let mut rows = part.filling.clone();
            if let Some(issued) = part.issued {
                let quantity = issued.source.quantity;
                let place = place_of(issued.batch, number.unwrap_or(Member(0)), member);
                let spans = member_spans(issued.batch, quantity, place, &self.window, own_limits(quantity));
                let air_mean = |from: f64, to: f64| mean_within(air.as_ref()?, &self.window, from, to);
                rows.extend(spans.iter().filter_map(|span| {
                    let value = issued.scale.corrected(made(quantity, span, &air_mean)?);
                    Some(SpanRow {
                        value: Some(value),
                        ..*span
                    })
                }));
                rows.sort_by(|a, b| a.from.total_cmp(&b.from));
            }
            if part.wanted.what == WeatherWhat::AirTemp {
                air = curve(&rows, &self.window);
            }
            if let Some(noise) = &noise {
                self.stir(part.wanted.what, &mut rows, noise, air.as_ref());
            }
            record.insert(part.wanted.what, track(rows));
        }
        Ok(weather_steps(&record, self.site, self.window.steps())?)
    }

    /// What a member's air differs by, `(s since the start, degC)`; `None` where the forecast has members and no bias was taken off.
    fn noise_degc(&self, member: usize, seed: u64) -> Option<Vec<(f64, f64)>> {
        let one_run = self.members.len() < 2;
        if !one_run && self.bias_error_degc == 0.0 {
            return None;
        }
        let bias =
            self.bias_error_degc * normal_number(&mut stream(seed, &format!("forcing/air-bias/{member}")));
        let mut numbers = stream(seed, &format!("forcing/air/{member}"));
        let (at_once, a_day, most) = ONE_RUN_ERROR_DEGC;
        let fresh = (1.0 - ONE_RUN_PERSISTENCE * ONE_RUN_PERSISTENCE).sqrt();
        let mut anomaly = normal_number(&mut numbers);
        let days = (self.window.end_s() / 86_400.0).ceil() as usize + 1;
        let at = (0..=days).map(|day| {
            let after_s = 86_400.0 * day as f64;
            let lead_days = (after_s - self.issued_s).max(0.0) / 86_400.0;
            let error = (at_once + a_day * lead_days).min(most);
            let own = if one_run { error * anomaly } else { 0.0 };
            anomaly = ONE_RUN_PERSISTENCE * anomaly + fresh * normal_number(&mut numbers);
            (after_s, bias + own)
        });
        Some(at.collect())
    }

    /// Adds the noise to the air, and to its vapour what keeps the relative humidity.
    fn stir(&self, what: WeatherWhat, rows: &mut [SpanRow], noise: &[(f64, f64)], air: Option<&Curve>) {
        for row in rows {
            let off = linear_pairs(noise, 0.5 * (row.from + row.to)).unwrap_or(0.0);
            let before = air.and_then(|air| mean_within(air, &self.window, row.from, row.to));
            row.value = row.value.map(|value| match (what, before) {
                (WeatherWhat::AirTemp, _) => value + off,
                (WeatherWhat::VapourPressure, Some(air_degc)) => {
                    value * saturation_vapour_pressure_pa(air_degc + off)
                        / saturation_vapour_pressure_pa(air_degc)
                }
                _ => value,
            });
        }
    }
}

fn mean_of(tables: &[Daily], date: NaiveDate, today: NaiveDate) -> Option<f64> {
    tables.iter().find_map(|table| normal(table, date, today))
}

/// A track whose holes are short enough to be bridged.
pub(super) fn track(rows: Vec<SpanRow>) -> Track {
    Track {
        rows,
        step_s: HOUR_S,
        longest_gap_s: super::join::DAYS_BRIDGED_S,
    }
}

/// The curve of a quantity over the window; `None` where its rows do not reach.
pub(super) fn curve(rows: &[SpanRow], window: &Window) -> Option<Curve> {
    let filling = Filling {
        longest_gap: super::join::DAYS_BRIDGED_S,
        step: HOUR_S,
        shape: &|_, _| 1.0,
        least_shape: 0.0,
    };
    let (spans, _) = SpanMeans::filled(rows, (0.0, window.end_s()), filling).ok()?;
    Some(spans.curve((f64::NEG_INFINITY, f64::INFINITY)))
}

/// Mean over the part of a span that lies in the window.
pub(super) fn mean_within(curve: &Curve, window: &Window, from: f64, to: f64) -> Option<f64> {
    let (from, to) = (from.max(0.0), to.min(window.end_s()));
    (to > from).then(|| curve.mean(from, to)).flatten()
}

/// The quantities in the order in which they are gathered; air first, for humidity wants it.
pub(super) const ORDER: [Wanted; 8] = [VAPOUR, WIND, DIRECTION, SUN, LONGWAVE, CLOUD, PRESSURE, RAIN];
/// Air temperature.
pub(super) const FIRST: Wanted = AIR;
