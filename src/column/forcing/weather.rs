//! From a record of the weather to the weather of each step.

use super::Weather;
use super::record::{ForcingError, Site, Steps, Track, WeatherRecord, believed, filled, no_shape};
use super::sky::{CloudBy, Sun, height_while_up, longwave_w_m2, sunlight_from_cloud_w_m2};
use super::wind_direction::{Blown, wind_from_deg};
use crate::lake::WeatherWhat;
use crate::math::span_means::{Curve, SpanRow};
use crate::physics::atmosphere::{saturation_vapour_pressure_pa, standard_pressure_pa};
use crate::physics::constants::WATER_TO_AIR_MASS;

/// What of the weather is not as it was given.
#[derive(Debug, Clone, PartialEq)]
pub enum WeatherNote {
    /// Gaps of a quantity were filled.
    Filled {
        /// Quantity.
        what: WeatherWhat,
        /// How many.
        gaps: usize,
        /// Their hours in all.
        length_h: f64,
    },
    /// Rows of sunlight below 0 (a sensor's zero by night) or of rain below 0 (rounding) count as 0.
    BelowZero {
        /// Quantity.
        what: WeatherWhat,
        /// How many rows.
        rows: usize,
        /// The lowest, in SI.
        least: f64,
    },
    /// Vapour pressure comes from this.
    VapourFrom(WeatherWhat),
    /// Pressure is that of the standard atmosphere at the lake's height.
    StandardPressure {
        /// Pressure.
        pressure_pa: f64,
    },
    /// Wind speed is that of the mean vector, which is less than the mean of speeds.
    WindFromVector,
    /// Sunlight comes from cloud.
    SunlightFromCloud,
    /// Longwave radiation comes from air and the share of the sky under cloud.
    LongwaveFromCloud,
    /// Longwave radiation comes from air and sunlight; so many steps had no sun to tell of cloud.
    LongwaveFromSunlight {
        /// Steps between.
        steps_between: usize,
    },
    /// No rain was given: it counts as none, and snow on ice as usual.
    NoPrecipitation,
    /// A quantity was given that the columns have no use for.
    Unused(WeatherWhat),
}

/// Limits beyond which a value is not believed, in SI (project choice: beyond the records of the Earth).
pub(in crate::column) fn limits(what: WeatherWhat) -> (f64, f64) {
    match what {
        WeatherWhat::AirTemp => (-90.0, 60.0),
        WeatherWhat::DewPoint => (-100.0, 45.0),
        WeatherWhat::RelativeHumidity => (0.0, 1.1),
        WeatherWhat::SpecificHumidity => (0.0, 0.06),
        WeatherWhat::VapourPressure => (0.0, 10_000.0),
        WeatherWhat::Pressure => (40_000.0, 110_000.0),
        WeatherWhat::WindSpeed => (0.0, 100.0),
        WeatherWhat::WindU | WeatherWhat::WindV => (-100.0, 100.0),
        WeatherWhat::WindDirection => (-360.0, 720.0),
        WeatherWhat::Shortwave => (-20.0, 1600.0),
        WeatherWhat::Longwave => (40.0, 700.0),
        WeatherWhat::CloudCover => (0.0, 1.0),
        // Half a metre in an hour; below 0 by rounding.
        WeatherWhat::Precipitation | WeatherWhat::Snowfall => (-1e-9, 0.5 / 3600.0),
    }
}

struct Work<'r> {
    record: &'r WeatherRecord,
    steps: Steps,
    notes: Vec<WeatherNote>,
}

/// The weather of each step, and what of it is not as it was given. Means of each span of the record are kept, where
/// steps do not cut spans, to rounding; where they do, those of the whole.
///
/// # Errors
/// [`ForcingError`].
pub fn weather_steps(
    record: &WeatherRecord,
    site: Site,
    steps: Steps,
) -> Result<(Vec<Weather>, Vec<WeatherNote>), ForcingError> {
    let mut work = Work {
        record,
        steps,
        notes: Vec::new(),
    };
    let any = (f64::NEG_INFINITY, f64::INFINITY);
    let air = work
        .given(WeatherWhat::AirTemp, any)?
        .ok_or(ForcingError::Missing { what: "air_temp" })?;
    let pressure = work.given(WeatherWhat::Pressure, any)?;
    let standard_pa = standard_pressure_pa(site.elevation_m);
    if pressure.is_none() {
        work.notes.push(WeatherNote::StandardPressure {
            pressure_pa: standard_pa,
        });
    }
    let vapour = work.vapour_pressure(&air, pressure.as_ref(), standard_pa)?;
    let wind = work.wind()?;
    let cloud = work.given(WeatherWhat::CloudCover, (0.0, 1.0))?;
    let cloud = cloud
        .map(|curve| work.at_steps(&curve, WeatherWhat::CloudCover))
        .transpose()?;
    let air_degc = work.at_steps(&air, WeatherWhat::AirTemp)?;
    let vapour_pa = work.at_steps(&vapour, WeatherWhat::VapourPressure)?;
    let wind_m_s = work.at_steps(&wind, WeatherWhat::WindSpeed)?;
    let pressure_pa = match &pressure {
        Some(curve) => work.at_steps(curve, WeatherWhat::Pressure)?,
        None => vec![standard_pa; steps.count],
    };
    let sun = Sun::new(site, steps);
    let sunlight = work.sunlight(&sun, cloud.as_deref())?;
    let longwave = work.longwave(&sun, (&air_degc, &vapour_pa), cloud.as_deref(), &sunlight)?;
    let rain = work.precipitation()?;
    let wind_from = work.wind_from(&wind)?;
    let rain_known =
        record.contains_key(&WeatherWhat::Precipitation) || record.contains_key(&WeatherWhat::Snowfall);
    let weather = (0..steps.count).map(|k| Weather {
        air_temp_degc: air_degc[k],
        vapour_pressure_pa: vapour_pa[k],
        pressure_pa: pressure_pa[k],
        wind_speed_m_s: wind_m_s[k],
        wind_from_deg: wind_from.get(k).copied().flatten(),
        sunlight_w_m2: sunlight[k],
        sun_height_frac: height_while_up(&sun.spans[k]),
        sky_longwave_w_m2: longwave[k],
        precipitation_m_s: rain_known.then_some(rain[k]),
    });
    Ok((weather.collect(), work.notes))
}

impl Work<'_> {
    fn track(&self, what: WeatherWhat) -> Result<Option<&Track>, ForcingError> {
        let Some(track) = self.record.get(&what) else {
            return Ok(None);
        };
        believed(what.word(), &track.rows, self.steps, limits(what))?;
        Ok(Some(track))
    }

    /// The curve of a quantity that was given, within its bounds.
    fn given(&mut self, what: WeatherWhat, bounds: (f64, f64)) -> Result<Option<Curve>, ForcingError> {
        let Some(track) = self.track(what)? else {
            return Ok(None);
        };
        let track = track.clone();
        self.curve(what, &track, bounds).map(Some)
    }

    fn curve(&mut self, what: WeatherWhat, track: &Track, bounds: (f64, f64)) -> Result<Curve, ForcingError> {
        Ok(self.spans(what, track, &no_shape, 0.0)?.curve(bounds))
    }

    fn spans(
        &mut self,
        what: WeatherWhat,
        track: &Track,
        shape: &dyn Fn(f64, f64) -> f64,
        least_shape_frac: f64,
    ) -> Result<crate::math::span_means::SpanMeans, ForcingError> {
        let (spans, gaps) = filled(what.word(), track, self.steps, shape, least_shape_frac)?;
        if gaps.gaps > 0 {
            self.notes.push(WeatherNote::Filled {
                what,
                gaps: gaps.gaps,
                length_h: gaps.length / 3600.0,
            });
        }
        Ok(spans)
    }

    fn at_steps(&self, curve: &Curve, what: WeatherWhat) -> Result<Vec<f64>, ForcingError> {
        let steps = curve.steps(0.0, self.steps.step_s, self.steps.count);
        steps.ok_or_else(|| ForcingError::Empty {
            what: what.word().to_owned(),
            from: self.steps.start,
            to: self.steps.instant(self.steps.end_s()),
        })
    }

    /// Vapour pressure from whichever humidity was given, row by row, with the temperature and pressure of the row's
    /// own span.
    fn vapour_pressure(
        &mut self,
        air: &Curve,
        pressure: Option<&Curve>,
        standard_pa: f64,
    ) -> Result<Curve, ForcingError> {
        use WeatherWhat::{DewPoint, RelativeHumidity, SpecificHumidity, VapourPressure};
        let order = [VapourPressure, DewPoint, RelativeHumidity, SpecificHumidity];
        let what = order.into_iter().find(|what| self.record.contains_key(what));
        let what = what.ok_or(ForcingError::Missing { what: "humidity" })?;
        let Some(track) = self.track(what)? else {
            return Err(ForcingError::Missing { what: "humidity" });
        };
        let mut track = track.clone();
        let pressure_pa = |row: &SpanRow| {
            pressure
                .and_then(|curve| curve.mean(row.from, row.to))
                .unwrap_or(standard_pa)
        };
        for row in &mut track.rows {
            row.value = row.value.and_then(|value| match what {
                DewPoint => Some(saturation_vapour_pressure_pa(value)),
                // Beyond the ends of the air temperature there is no saturation; these rows shape the ends only.
                RelativeHumidity => Some(value * saturation_vapour_pressure_pa(air.mean(row.from, row.to)?)),
                SpecificHumidity => Some(vapour_from_specific_pa(value, pressure_pa(row))),
                _ => Some(value),
            });
        }
        if what != VapourPressure {
            self.notes.push(WeatherNote::VapourFrom(what));
        }
        for unused in order
            .into_iter()
            .filter(|w| *w != what && self.record.contains_key(w))
        {
            self.notes.push(WeatherNote::Unused(unused));
        }
        self.curve(what, &track, (0.0, f64::INFINITY))
    }

    fn wind(&mut self) -> Result<Curve, ForcingError> {
        if let Some(curve) = self.given(WeatherWhat::WindSpeed, (0.0, f64::INFINITY))? {
            return Ok(curve);
        }
        let (Some(u), Some(v)) = (self.track(WeatherWhat::WindU)?, self.track(WeatherWhat::WindV)?) else {
            return Err(ForcingError::Missing {
                what: "wind_speed, or wind_u and wind_v",
            });
        };
        let together = |(u, v): (&SpanRow, &SpanRow)| u.from == v.from && u.to == v.to;
        if u.rows.len() != v.rows.len() || !u.rows.iter().zip(&v.rows).all(together) {
            return Err(ForcingError::Apart {
                first: "wind_u",
                second: "wind_v",
            });
        }
        let rows = u.rows.iter().zip(&v.rows).map(|(u, v)| SpanRow {
            value: u.value.zip(v.value).map(|(u, v)| u.hypot(v)),
            ..*u
        });
        let speed = Track {
            rows: rows.collect(),
            ..u.clone()
        };
        self.notes.push(WeatherNote::WindFromVector);
        self.curve(WeatherWhat::WindU, &speed, (0.0, f64::INFINITY))
    }

    /// Direction of each step, of vectors where the record has them, else of directions weighted by the speed over their own
    /// rows; nothing is filled. Empty where neither was given.
    fn wind_from(&self, speed: &Curve) -> Result<Vec<Option<f64>>, ForcingError> {
        let (u, v) = (self.track(WeatherWhat::WindU)?, self.track(WeatherWhat::WindV)?);
        let rows: Vec<Blown> = match (self.track(WeatherWhat::WindDirection)?, u, v) {
            (Some(direction), _, _) => {
                let end_s = self.steps.end_s();
                let within = direction
                    .rows
                    .iter()
                    .filter(|row| row.to > 0.0 && row.from < end_s);
                within
                    .filter_map(|row| Blown::of(row, speed.mean(row.from.max(0.0), row.to.min(end_s))?))
                    .collect()
            }
            // Rows of different times have been refused where the speed was made of them; else they tell nothing.
            (None, Some(u), Some(v)) => {
                let pairs = u.rows.iter().zip(&v.rows);
                let together = pairs.filter(|(u, v)| u.from == v.from && u.to == v.to);
                let blown = together.filter_map(|(u, v)| {
                    Some(Blown {
                        from: u.from,
                        to: u.to,
                        east_m_s: u.value?,
                        north_m_s: v.value?,
                    })
                });
                blown.collect()
            }
            (None, _, _) => return Ok(Vec::new()),
        };
        Ok(wind_from_deg(&rows, self.steps))
    }

    fn sunlight(&mut self, sun: &Sun, cloud_frac: Option<&[f64]>) -> Result<Vec<f64>, ForcingError> {
        let Some(track) = self.track(WeatherWhat::Shortwave)? else {
            let cloud_frac = cloud_frac.ok_or(ForcingError::Missing {
                what: "shortwave or cloud_cover",
            })?;
            self.notes.push(WeatherNote::SunlightFromCloud);
            return Ok(sunlight_from_cloud_w_m2(sun, cloud_frac));
        };
        let track = self.not_below_zero(WeatherWhat::Shortwave, track.clone());
        let shape = |from: f64, to: f64| sun.mean_height(from, to);
        // Below 3 degrees of height the ratio of sunlight and height says little of the hours beside.
        let spans = self.spans(WeatherWhat::Shortwave, &track, &shape, 0.05)?;
        Ok(sun.spread_w_m2(&spans))
    }

    fn longwave(
        &mut self,
        sun: &Sun,
        (air_degc, vapour_pa): (&[f64], &[f64]),
        cloud_frac: Option<&[f64]>,
        sunlight_w_m2: &[f64],
    ) -> Result<Vec<f64>, ForcingError> {
        if let Some(curve) = self.given(WeatherWhat::Longwave, (0.0, f64::INFINITY))? {
            return self.at_steps(&curve, WeatherWhat::Longwave);
        }
        if let Some(cloud_frac) = cloud_frac {
            self.notes.push(WeatherNote::LongwaveFromCloud);
            return Ok(longwave_w_m2(air_degc, vapour_pa, &CloudBy::Cover(cloud_frac)));
        }
        let (missing, steps_between) = sun.missing_light(sunlight_w_m2).ok_or(ForcingError::Missing {
            what: "longwave or cloud_cover (the sun stays down all the time, and tells of no cloud)",
        })?;
        self.notes
            .push(WeatherNote::LongwaveFromSunlight { steps_between });
        Ok(longwave_w_m2(
            air_degc,
            vapour_pa,
            &CloudBy::MissingLight(&missing),
        ))
    }

    /// Rain and snow, each spread evenly over its spans.
    fn precipitation(&mut self) -> Result<Vec<f64>, ForcingError> {
        let mut sum = vec![0.0; self.steps.count];
        let mut known = false;
        for what in [WeatherWhat::Precipitation, WeatherWhat::Snowfall] {
            let Some(track) = self.track(what)? else { continue };
            known = true;
            let track = self.not_below_zero(what, track.clone());
            let curve = self.spans(what, &track, &no_shape, 0.0)?.flat();
            for (sum, part) in sum.iter_mut().zip(self.at_steps(&curve, what)?) {
                *sum += part;
            }
        }
        if !known {
            self.notes.push(WeatherNote::NoPrecipitation);
        }
        Ok(sum)
    }

    /// The track with what is below 0 raised to it, and counted.
    fn not_below_zero(&mut self, what: WeatherWhat, mut track: Track) -> Track {
        let (mut rows, mut least) = (0, 0.0_f64);
        for value in track.rows.iter_mut().filter_map(|row| row.value.as_mut()) {
            if *value < 0.0 {
                rows += 1;
                least = least.min(*value);
                *value = 0.0;
            }
        }
        if rows > 0 {
            self.notes.push(WeatherNote::BelowZero { what, rows, least });
        }
        track
    }
}

/// Vapour pressure from specific humidity: `e = q P / (0.622 + 0.378 q)`, the inverse of
/// [`crate::physics::atmosphere::specific_humidity_kg_kg`].
fn vapour_from_specific_pa(humidity_kg_kg: f64, pressure_pa: f64) -> f64 {
    humidity_kg_kg * pressure_pa / (WATER_TO_AIR_MASS + (1.0 - WATER_TO_AIR_MASS) * humidity_kg_kg)
}
