//! The weather up to the clock: each quantity from its sources, the best first, and what fills the holes that they leave.

use chrono::NaiveDate;

use super::error::StoredForcingError;
use super::forecast::{Issued, passed, to_take};
use super::join::{Hole, Laid, holes};
use super::normal::normal;
use super::note::{StoredNote, Used};
use super::seam::{Scaling, SeamScale, StoredSeam};
use super::sources::{Past, Reading, day_pairs, on_one_scale, pair_days};
use super::wanted::{Wanted, made, own_limits};
use super::window::{HOUR_S, Window};
use crate::clock::LakeClock;
use crate::column::forcing::SunOver;
use crate::conditions::seam::{SeamBasis, SeamPart};
use crate::lake::{Lake, SeriesId, SeriesPlace, SeriesSource, WeatherWhat};
use crate::math::span_means::SpanRow;
use crate::quantity::Quantity;
use crate::series::daily::daily_series_of;
use crate::series::{Consequence, Daily, Gap, GapReason, SeriesSet};

/// What is known of a quantity.
pub(super) struct Gathered<'a> {
    pub wanted: Wanted,
    /// Sources with a past in the window, the base first.
    pub sources: Vec<Past<'a>>,
    pub issued: Option<Issued<'a>>,
    /// Spans of all, in order of time.
    pub rows: Vec<SpanRow>,
}

/// Reads the lake's series, and keeps what is to be told of them.
pub(super) struct Gatherer<'a, 'w> {
    pub lake: &'a Lake,
    pub set: &'a SeriesSet,
    pub clock: LakeClock,
    pub window: &'w Window,
    /// Day of the clock: nothing of it or later is a mean of other years.
    pub today: NaiveDate,
    pub sun: &'w SunOver,
    pub notes: Vec<StoredNote>,
    pub gaps: Vec<Gap>,
    pub seams: Vec<StoredSeam>,
}

impl<'a> Gatherer<'a, '_> {
    /// Series of the lake, then of its main body.
    pub fn series(&self, wanted: Wanted) -> Vec<&'a SeriesSource> {
        let places = [
            SeriesPlace::Lake,
            SeriesPlace::Zone(self.lake.main_body().id.clone()),
        ];
        let of = |quantity: &Quantity| {
            let of_place = |place| self.lake.series_of(*quantity, place).collect::<Vec<_>>();
            places
                .iter()
                .flat_map(of_place)
                .collect::<Vec<&'a SeriesSource>>()
        };
        wanted.quantities.iter().flat_map(of).collect()
    }

    /// What the series of a quantity have in the window, on no scale yet.
    pub fn pasts(
        &mut self,
        wanted: Wanted,
        series: &[&'a SeriesSource],
        air: &dyn Fn(f64, f64) -> Option<f64>,
    ) -> Vec<Past<'a>> {
        let reading = |quantity| Reading {
            set: self.set,
            clock: &self.clock,
            window: self.window,
            limits: own_limits(quantity),
        };
        let mut pasts = Vec::new();
        for source in series {
            let Some(mut past) = Past::read(source, reading(source.quantity), &mut self.notes) else {
                continue;
            };
            if wanted.what == WeatherWhat::VapourPressure && source.quantity != Quantity::VapourPressure {
                past.map(self.window, |span| made(source.quantity, span, air));
                self.notes.push(StoredNote::VapourFrom {
                    series: source.id.clone(),
                    quantity: source.quantity,
                });
            }
            pasts.push(past);
        }
        pasts
    }

    /// What the store knows of a quantity in the window; `air` gives means of air temperature, where humidity wants them.
    pub fn gather(&mut self, wanted: Wanted, air: &dyn Fn(f64, f64) -> Option<f64>) -> Gathered<'a> {
        let series = self.series(wanted);
        let pasts = self.pasts(wanted, &series, air);
        let quantity = wanted.quantities[0];
        let sources = on_one_scale(pasts, (quantity, wanted.scaling), self.window, &mut self.seams);
        let base = sources.first().map(|base| &base.source.id);
        let taken = to_take(self.set, &series, base);
        let mut ran = taken.map(|(source, batch)| {
            let limits = own_limits(source.quantity);
            let mut spans = passed(self.set, (source, batch), self.window, limits);
            for span in &mut spans {
                span.value = made(source.quantity, span, air);
            }
            spans.retain(|span| span.value.is_some());
            let past = Past {
                source,
                spans,
                days: Vec::new(),
                suspect_spans: Vec::new(),
                suspect_days: Vec::new(),
                scale: None,
            };
            (past, batch)
        });
        let issued = ran
            .as_mut()
            .map(|(past, batch)| self.issued(wanted, past, batch, &sources));
        let rows = self.lay(wanted, &sources, ran.as_ref().map(|(past, _)| past));
        Gathered {
            wanted,
            sources,
            issued,
            rows,
        }
    }

    /// How a forecast reads: by its hours that have passed; else, of a series with a past of its own, as that past does.
    fn issued(
        &mut self,
        wanted: Wanted,
        ran: &mut Past<'a>,
        batch: &'a crate::series::ForecastBatch,
        sources: &[Past<'a>],
    ) -> Issued<'a> {
        let source = ran.source;
        let mut scale = SeamScale::Same;
        if let Some(base) = sources.first().filter(|_| wanted.scaling != Scaling::AsItIs) {
            let pairs = day_pairs(ran, base, self.window, pair_days(wanted.scaling));
            let by_hours = SeamScale::of(wanted.scaling, &pairs);
            let basis = match self.set.earlier_runs(&source.id) {
                [] => SeamBasis::PassedHours,
                _ => SeamBasis::IssuedForecasts,
            };
            let same_past = || {
                let own = sources.iter().skip(1).find(|past| past.source.id == source.id)?;
                Some((own.scale?, SeamBasis::SamePast))
            };
            let found = by_hours.map(|scale| (scale, basis)).or_else(same_past);
            scale = found.map_or(SeamScale::Same, |(scale, _)| scale);
            let part = (&source.id, SeamPart::Forecast);
            let seam = StoredSeam::of(wanted.quantities[0], part, &base.source.id, found, pairs.len());
            self.seams.push(seam);
        }
        ran.scale = Some(scale);
        Issued { source, batch, scale }
    }

    /// What the store knows of a quantity in a window of another year, every source on the scale that it has today.
    pub fn gather_on(
        &mut self,
        wanted: Wanted,
        today: &[(SeriesId, SeamScale)],
        air: &dyn Fn(f64, f64) -> Option<f64>,
    ) -> Gathered<'a> {
        let series = self.series(wanted);
        let mut sources = self.pasts(wanted, &series, air);
        for past in &mut sources {
            let known = today.iter().find(|(id, _)| *id == past.source.id);
            past.scale = known.map(|(_, scale)| *scale);
        }
        // The order of today's sources, the base of their scale first; a source that has no scale today is not used.
        sources.retain(|past| past.scale.is_some());
        sources.sort_by_key(|past| today.iter().position(|(id, _)| *id == past.source.id));
        let rows = self.lay(wanted, &sources, None);
        Gathered {
            wanted,
            sources,
            issued: None,
            rows,
        }
    }

    /// Hours of the base, then of the others, then days, then hours of forecasts, then what is suspect.
    fn lay(&mut self, wanted: Wanted, sources: &[Past<'_>], ran: Option<&Past<'_>>) -> Vec<SpanRow> {
        let mut laid = Laid::new(self.window);
        let scaled = || sources.iter().filter_map(|past| Some((past, past.scale?)));
        for (past, scale) in scaled() {
            laid.spans((&past.source.id, Used::Hours), &past.spans, scale);
        }
        for (past, scale) in scaled() {
            laid.days((&past.source.id, Used::Days), &past.days, scale);
        }
        if let Some((past, scale)) = ran.and_then(|past| Some((past, past.scale?))) {
            laid.spans((&past.source.id, Used::PassedForecast), &past.spans, scale);
        }
        for (past, scale) in scaled() {
            laid.spans((&past.source.id, Used::Suspect), &past.suspect_spans, scale);
            laid.days((&past.source.id, Used::Suspect), &past.suspect_days, scale);
        }
        let (rows, used) = laid.finish();
        if !used.is_empty() {
            let what = wanted.name.to_owned();
            self.notes.push(StoredNote::From { what, used });
        }
        rows
    }

    /// The rows with every hole filled that is too long to be bridged: by means of the same days of other years.
    ///
    /// # Errors
    /// [`StoredForcingError::Unknown`] where there are none.
    pub fn whole(&mut self, gathered: &Gathered<'_>) -> Result<Vec<SpanRow>, StoredForcingError> {
        let open: Vec<Hole> = holes(&gathered.rows, self.window)
            .into_iter()
            .filter(|hole| !hole.bridged)
            .collect();
        let mut rows = gathered.rows.clone();
        if open.is_empty() {
            return Ok(rows);
        }
        let tables = self.tables(gathered);
        let mut hours = 0.0;
        for hole in &open {
            for day in 0..self.window.days() {
                let (day_from, day_to) = (self.window.day_edges_s[day], self.window.day_edges_s[day + 1]);
                let (from, to) = (hole.from.max(day_from), hole.to.min(day_to));
                if to - from <= 1.0 {
                    continue;
                }
                let date = self.window.date(day);
                let mean = tables.iter().find_map(|table| normal(table, date, self.today));
                let mean = mean.ok_or(StoredForcingError::Unknown {
                    what: gathered.wanted.name,
                    from: self.window.instant(from),
                })?;
                // Of sunlight a part of a day has its own share.
                let share = match gathered.wanted.what {
                    WeatherWhat::Shortwave => self.sun.share(from, to, (day_from, day_to)),
                    _ => 1.0,
                };
                hours += (to - from) / 3600.0;
                rows.push(SpanRow {
                    from,
                    to,
                    value: Some(mean * share),
                });
            }
        }
        rows.sort_by(|a, b| a.from.total_cmp(&b.from));
        let known = self.window.hours - (hours as usize).min(self.window.hours);
        self.gaps.push(Gap {
            what: gathered.wanted.name.to_owned(),
            reason: GapReason::TooFew {
                found: known,
                wanted: self.window.hours,
            },
            consequence: Consequence::StandIn {
                stand_in: "means of the same days of other years".to_owned(),
            },
        });
        Ok(rows)
    }

    /// What is known of sunlight, and in the holes that cannot be bridged that of a clear sky less what the cloud of those hours takes.
    pub fn sun_from_cloud(&mut self, sun: &Gathered<'a>, cloud_rows: &[SpanRow]) -> Gathered<'a> {
        let mut filled = Gathered {
            wanted: sun.wanted,
            sources: Vec::new(),
            issued: sun.issued,
            rows: sun.rows.clone(),
        };
        let steps = self.window.steps();
        let cloud = super::ahead::curve(cloud_rows, self.window);
        let cloud = cloud.and_then(|curve| curve.steps(0.0, steps.step_s, steps.count));
        let Some(mut cloud_frac) = cloud else {
            return filled;
        };
        cloud_frac
            .iter_mut()
            .for_each(|share| *share = share.clamp(0.0, 1.0));
        let light = self.sun.sunlight_under_w_m2(&cloud_frac);
        let mut hours = 0;
        for hole in holes(&sun.rows, self.window).iter().filter(|hole| !hole.bridged) {
            let (first, last) = (
                (hole.from / HOUR_S).ceil() as usize,
                (hole.to / HOUR_S).floor() as usize,
            );
            for (k, value) in light.iter().enumerate().take(last).skip(first) {
                hours += 1;
                filled.rows.push(SpanRow {
                    from: HOUR_S * k as f64,
                    to: HOUR_S * (k + 1) as f64,
                    value: Some(*value),
                });
            }
        }
        filled.rows.sort_by(|a, b| a.from.total_cmp(&b.from));
        self.gaps.push(Gap {
            what: sun.wanted.name.to_owned(),
            reason: GapReason::TooFew {
                found: self.window.hours - hours,
                wanted: self.window.hours,
            },
            consequence: Consequence::StandIn {
                stand_in: "clear sky and cloud".to_owned(),
            },
        });
        filled
    }

    /// Daily values of the whole store on the scale of the base, the base first; a sum as its rate.
    pub fn tables(&self, gathered: &Gathered<'_>) -> Vec<Daily> {
        let of = |source: &SeriesSource, scale: SeamScale| {
            let mut daily = daily_series_of(self.set, source, &self.clock)?;
            for value in &mut daily.value {
                *value = value.and_then(|value| {
                    let value = match source.quantity {
                        Quantity::Precipitation => value / crate::units::S_PER_DAY,
                        _ => value,
                    };
                    let span = SpanRow {
                        from: 0.0,
                        to: crate::units::S_PER_DAY,
                        value: Some(value),
                    };
                    // Of relative humidity alone there is no vapour pressure without the air of that day.
                    Some(scale.corrected(made(source.quantity, &span, &|_, _| None)?))
                });
            }
            Some(daily)
        };
        let known = gathered
            .sources
            .iter()
            .filter_map(|past| of(past.source, past.scale?));
        let known: Vec<Daily> = known.collect();
        if !known.is_empty() {
            return known;
        }
        // Nothing in the window: whatever the store has of other years.
        let series = self.series(gathered.wanted).into_iter();
        series.filter_map(|source| of(source, SeamScale::Same)).collect()
    }

    /// Time of the window in holes that cannot be bridged.
    pub fn missing_s(&self, gathered: &Gathered<'_>) -> f64 {
        let open = holes(&gathered.rows, self.window)
            .into_iter()
            .filter(|hole| !hole.bridged);
        open.map(|hole| hole.to - hole.from).sum()
    }

    /// The rows where they leave no hole that cannot be bridged; else `None`, and a note where there is something.
    pub fn if_whole(&mut self, gathered: &Gathered<'_>) -> Option<Vec<SpanRow>> {
        let missing_s = self.missing_s(gathered);
        if missing_s == 0.0 && !gathered.rows.is_empty() {
            return Some(gathered.rows.clone());
        }
        if !gathered.rows.is_empty() {
            self.notes.push(StoredNote::PartlyKnown {
                what: gathered.wanted.quantities[0],
                hours: (missing_s / 3600.0).round() as usize,
            });
        }
        None
    }
}
