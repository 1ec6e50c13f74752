//! Sun and sky step by step: sunlight spread over the day, cloud, and what the sky sends down.

use chrono::{Datelike as _, Timelike as _};

use super::record::{Site, Steps};
use crate::math::interpolate::linear_pairs;
use crate::math::span_means::SpanMeans;
use crate::physics::longwave::{
    ClearSky, CloudSky, clear_sky_emissivity, cloudy_emissivity, sky_longwave_w_m2,
};
use crate::physics::radiation::{clear_sky_hourly_w_m2, cloud_transmission};
use crate::physics::sun_course::{SunCourse, SunSpan};

/// Parts of a step over which the clear sky's light is averaged (project choice: ten minutes of an hour).
const PARTS: u32 = 6;
/// Below this mean height of the sun over a span its light is spread evenly: there is no course to follow.
const LEAST_HEIGHT_FRAC: f64 = 1e-4;
/// Height of the sun from which sunlight tells of cloud (11.5 degrees), or this share of the day's greatest where the
/// sun stays lower (project choice: below, a small error of time or height is a large one of the ratio).
const TELLING_HEIGHT_FRAC: f64 = 0.2;
const TELLING_SHARE_FRAC: f64 = 0.8;

/// The sun over every step.
pub(super) struct Sun {
    site: Site,
    steps: Steps,
    /// Shape `[step]`.
    pub spans: Vec<SunSpan>,
}

impl Sun {
    pub fn new(site: Site, steps: Steps) -> Sun {
        let sun = Sun {
            site,
            steps,
            spans: Vec::new(),
        };
        let spans = (0..steps.count).map(|k| {
            let from_s = steps.step_s * k as f64;
            sun.over(from_s, from_s + steps.step_s)
        });
        Sun {
            spans: spans.collect(),
            ..sun
        }
    }

    /// The course of the day that holds `after_s`, and the hour of UTC there.
    fn course(&self, after_s: f64) -> (SunCourse, f64) {
        let at = self.steps.instant(after_s);
        let hour_h = f64::from(at.num_seconds_from_midnight()) / 3600.0;
        let day = f64::from(at.ordinal()) + hour_h / 24.0;
        (
            SunCourse::new(self.site.latitude_deg, self.site.longitude_deg, day),
            hour_h,
        )
    }

    /// The sun over a stretch of at most a day, seconds since the start.
    fn over(&self, from_s: f64, to_s: f64) -> SunSpan {
        let (course, hour_h) = self.course(0.5 * (from_s + to_s));
        let half_h = 0.5 * (to_s - from_s) / 3600.0;
        course.span(hour_h - half_h, hour_h + half_h)
    }

    /// Mean height over a stretch of any length, by pieces of an hour.
    pub fn mean_height(&self, from_s: f64, to_s: f64) -> f64 {
        let mut sum = 0.0;
        for (start, end) in pieces(from_s, to_s, self.steps.step_s) {
            sum += (end - start) * self.over(start, end).mean_height_frac;
        }
        sum / (to_s - from_s)
    }

    /// Sunlight step by step: within each span of the record it follows the height of the sun, and keeps its mean.
    pub fn spread_w_m2(&self, record: &SpanMeans) -> Vec<f64> {
        let mut light = vec![0.0; self.steps.count];
        let mut parts: Vec<(usize, f64, f64)> = Vec::new();
        for (from, to, mean) in record.spans() {
            parts.clear();
            let mut whole = 0.0;
            for (start, end) in pieces(from, to, self.steps.step_s) {
                let height = (end - start) * self.over(start, end).mean_height_frac;
                whole += height;
                let step = (0.5 * (start + end) / self.steps.step_s).floor();
                if step >= 0.0 && step < self.steps.count as f64 {
                    parts.push((step as usize, end - start, height));
                }
            }
            let follow = whole > LEAST_HEIGHT_FRAC * (to - from);
            for &(step, length, height) in &parts {
                let sum = if follow {
                    mean * (to - from) * height / whole
                } else {
                    mean * length
                };
                light[step] += sum / self.steps.step_s;
            }
        }
        light
    }

    /// Sunlight of a clear sky, mean of each step (Haurwitz).
    pub fn clear_w_m2(&self) -> Vec<f64> {
        let one = |(k, span): (usize, &SunSpan)| {
            if span.sunlit_frac == 0.0 {
                return 0.0;
            }
            let from_s = self.steps.step_s * k as f64;
            let (course, hour_h) = self.course(from_s + 0.5 * self.steps.step_s);
            let parts = (0..PARTS).map(|part| {
                let off = (f64::from(part) + 0.5) / f64::from(PARTS) - 0.5;
                let height = course.height_frac(hour_h + off * self.steps.step_s / 3600.0);
                clear_sky_hourly_w_m2(height.clamp(-1.0, 1.0).acos().to_degrees())
            });
            parts.sum::<f64>() / f64::from(PARTS)
        };
        self.spans.iter().enumerate().map(one).collect()
    }

    /// Share of the clear sky's sunlight that is missing, 0 to 1, step by step: read where the sun stands high enough,
    /// straight between (Crawford & Duchon 1999, their clf). `None` where the sun never tells, and how many steps it did
    /// not.
    pub fn missing_light(&self, sunlight_w_m2: &[f64]) -> Option<(Vec<f64>, usize)> {
        let clear = self.clear_w_m2();
        let day_steps = (86_400.0 / self.steps.step_s).round().max(1.0) as usize;
        let heights: Vec<f64> = self.spans.iter().map(height_while_up).collect();
        let mut told: Vec<(f64, f64)> = Vec::new();
        for (day, day_heights) in heights.chunks(day_steps).enumerate() {
            let most = day_heights.iter().copied().fold(0.0, f64::max);
            let enough = TELLING_HEIGHT_FRAC.min(TELLING_SHARE_FRAC * most);
            for (k, &height) in day_heights.iter().enumerate() {
                let step = day * day_steps + k;
                if height > 0.0 && height >= enough && self.spans[step].sunlit_frac > 0.99 {
                    let share = 1.0 - sunlight_w_m2[step] / clear[step];
                    told.push((step as f64, share.clamp(0.0, 1.0)));
                }
            }
        }
        let between = self.steps.count - told.len();
        let all = (0..self.steps.count).map(|step| linear_pairs(&told, step as f64));
        Some((all.collect::<Option<Vec<f64>>>()?, between))
    }
}

/// The sun over a place, for sums over parts of a day.
pub(in crate::column) struct SunOver(Sun);

impl SunOver {
    /// Times in what follows are seconds since the start of the steps.
    pub fn new(site: Site, steps: Steps) -> SunOver {
        SunOver(Sun {
            site,
            steps,
            spans: Vec::new(),
        })
    }

    /// Sunlight of every step from the share of the sky under cloud.
    pub fn sunlight_under_w_m2(&self, cloud_frac: &[f64]) -> Vec<f64> {
        sunlight_from_cloud_w_m2(&Sun::new(self.0.site, self.0.steps), cloud_frac)
    }

    /// Mean sunlight of a part of a day over that of the whole day, by the height of the sun; 1 where it stays down.
    pub fn share(&self, from_s: f64, to_s: f64, day_s: (f64, f64)) -> f64 {
        let whole = self.0.mean_height(day_s.0, day_s.1);
        if whole > LEAST_HEIGHT_FRAC {
            self.0.mean_height(from_s, to_s) / whole
        } else {
            1.0
        }
    }
}

/// Mean height of the sun over the sunlit part of a span; 0 at night.
pub(super) fn height_while_up(span: &SunSpan) -> f64 {
    if span.sunlit_frac > 0.0 {
        span.mean_height_frac / span.sunlit_frac
    } else {
        0.0
    }
}

/// A stretch cut at every whole step.
fn pieces(from_s: f64, to_s: f64, step_s: f64) -> impl Iterator<Item = (f64, f64)> {
    let mut at = from_s;
    std::iter::from_fn(move || {
        // A piece shorter than a millisecond is a rounding.
        if at >= to_s - 1e-3 {
            return None;
        }
        let next = ((at / step_s + 1e-9).floor() + 1.0) * step_s;
        let piece = (at, if next > to_s - 1e-3 { to_s } else { next });
        at = piece.1;
        Some(piece)
    })
}

/// Sunlight from cloud, step by step: Kasten & Czeplak's share of Haurwitz' clear sky.
pub(super) fn sunlight_from_cloud_w_m2(sun: &Sun, cloud_frac: &[f64]) -> Vec<f64> {
    let clear = sun.clear_w_m2();
    clear
        .iter()
        .zip(cloud_frac)
        .map(|(clear, cloud)| clear * cloud_transmission(*cloud))
        .collect()
}

/// What tells of cloud.
pub(super) enum CloudBy<'c> {
    /// Share of the sky under cloud.
    Cover(&'c [f64]),
    /// Share of the clear sky's light that is missing.
    MissingLight(&'c [f64]),
}

/// Longwave radiation of the sky, step by step: Prata's clear sky with Unsworth & Monteith's cloud, or with Crawford &
/// Duchon's where cloud is told by the light that is missing.
pub(super) fn longwave_w_m2(
    air_temp_degc: &[f64],
    vapour_pressure_pa: &[f64],
    cloud: &CloudBy<'_>,
) -> Vec<f64> {
    let (form, shares) = match cloud {
        CloudBy::Cover(shares) => (CloudSky::UnsworthMonteith, shares),
        CloudBy::MissingLight(shares) => (CloudSky::CrawfordDuchon, shares),
    };
    air_temp_degc
        .iter()
        .zip(vapour_pressure_pa)
        .zip(*shares)
        .map(|((&air_degc, &vapour_pa), &cloud)| {
            let clear = clear_sky_emissivity(ClearSky::Prata, air_degc, vapour_pa);
            sky_longwave_w_m2(cloudy_emissivity(form, clear, cloud), air_degc)
        })
        .collect()
}
