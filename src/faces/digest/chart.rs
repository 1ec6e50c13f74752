//! The pictures of the digest: level and surface of the past weeks with the days ahead, and the shares day by day.

use chrono::{Datelike as _, NaiveDate};

use crate::faces::picture::{
    Axis, AxisKind, BarPanel, LinePanel, PictureError, PlotLine, Rgb, Scene, bars_scene, lines_scene,
    render_png,
};
use crate::faces::reader::{DecimalSign, Reader, Units, percent};
use crate::faces::words;
use crate::reports::Digest;
use crate::units::{M_PER_FT, degf_from_degc};

/// Pixels to a pixel of the page: sharp on a phone.
const SCALE: f32 = 2.0;
/// Height of a panel of lines.
const PANEL_HEIGHT: f32 = 190.0;
/// Colours of the past, of the days ahead, and of their band.
const PAST: Rgb = [0x1f, 0x5f, 0x7a];
const AHEAD: Rgb = [0xb3, 0x5c, 0x00];
const BAND: Rgb = [0xf3, 0xd9, 0xb8];
/// Colours of zones, told apart by the colour-blind and light enough for dark letters (after Okabe and Ito 2008, made lighter).
const ZONES: [Rgb; 7] = [
    [0x8c, 0xc4, 0xe8],
    [0xf2, 0xc1, 0x4e],
    [0x7f, 0xcf, 0xae],
    [0xe6, 0xa9, 0xc6],
    [0xd9, 0xd4, 0xc4],
    [0xf0, 0x9a, 0x6c],
    [0xb9, 0xb0, 0xe6],
];

/// A picture with what it shows in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Name of its file, without an ending.
    pub name: &'static str,
    /// What it shows, for those who do not see it.
    pub alt: String,
    /// PNG.
    pub png: Vec<u8>,
    /// Width on the page, pixels.
    pub width: u32,
}

/// Draws pictures, and none twice: those of readers who differ in their clock alone are the same.
#[derive(Debug, Clone, Default)]
pub struct Drawer {
    drawn: Vec<(Scene, Vec<u8>)>,
}

impl Drawer {
    /// The PNG of a scene. What it shows in words is not drawn.
    fn png(&mut self, scene: Scene) -> Result<Vec<u8>, PictureError> {
        let same = |(one, _): &&(Scene, Vec<u8>)| {
            (one.width, one.height, &one.marks) == (scene.width, scene.height, &scene.marks)
        };
        if let Some((_, png)) = self.drawn.iter().find(same) {
            return Ok(png.clone());
        }
        let png = render_png(&scene, SCALE)?;
        self.drawn.push((scene, png.clone()));
        Ok(png)
    }
}

/// Level and surface, six weeks back and the days ahead. `None` where neither is known on two days.
///
/// # Errors
/// [`PictureError`].
pub fn level_chart(
    digest: &Digest,
    reader: &Reader,
    drawer: &mut Drawer,
) -> Result<Option<Chart>, PictureError> {
    let brief = &digest.brief;
    let elevation = |m: f64| {
        if reader.units == Units::Us {
            m / M_PER_FT
        } else {
            m
        }
    };
    let temp = |degc: f64| {
        if reader.units == Units::Us {
            degf_from_degc(degc)
        } else {
            degc
        }
    };
    let last = digest.ahead.last().map(|day| day.date);
    let within = |date: NaiveDate| last.is_none_or(|last| date <= last);
    let levels = digest
        .behind
        .levels
        .iter()
        .map(|l| (day(l.date), elevation(l.elevation_m)));
    let outlook = brief.level_outlook.iter().flat_map(|o| &o.days);
    let level_ahead = outlook.filter(|d| within(d.date)).map(|d| {
        (
            day(d.date),
            elevation(d.low_m),
            elevation(d.median_m),
            elevation(d.high_m),
        )
    });
    let surfaces = digest
        .behind
        .surfaces
        .iter()
        .map(|s| (day(s.date), temp(s.mean_degc)));
    let days = brief.water.surface_outlook.iter().filter(|d| within(d.date));
    let surface_ahead = days.map(|d| {
        (
            day(d.date),
            temp(d.low_degc),
            temp(d.median_degc),
            temp(d.high_degc),
        )
    });
    let (ft, degf) = match reader.units {
        Units::Us => ("ft", "°F"),
        Units::Metric => ("m", "°C"),
    };
    let numbers = match reader.notation.decimal {
        DecimalSign::Point => AxisKind::Number,
        DecimalSign::Comma => AxisKind::NumberWithComma,
    };
    let today = day(reader.local_day(brief.as_of));
    let end = last.map_or(today, day);
    let level = panel(
        format!("Level, {ft}"),
        levels.collect(),
        level_ahead.collect(),
        (today, end),
        numbers,
    );
    // The least level at which a ramp floats the boat, where the picture reaches it.
    let ramps = brief.ramps.iter();
    let least = ramps.map(|ramp| (elevation(ramp.toe_elevation_m + ramp.needed_m), ramp.name.clone()));
    let level = level.map(|panel| LinePanel {
        marked: least
            .filter(|(at, _)| (panel.y_axis.from..panel.y_axis.to).contains(at))
            .collect(),
        ..panel
    });
    let surface = panel(
        format!("Surface temperature, {degf}"),
        surfaces.collect(),
        surface_ahead.collect(),
        (today, end),
        numbers,
    );
    let panels: Vec<LinePanel> = [level, surface].into_iter().flatten().collect();
    if panels.is_empty() {
        return Ok(None);
    }
    let alt = level_alt(digest, reader);
    let png = drawer.png(lines_scene(&panels, PANEL_HEIGHT, &alt))?;
    Ok(Some(Chart {
        name: "level",
        alt,
        png,
        width: 440,
    }))
}

fn day(date: NaiveDate) -> f64 {
    f64::from(date.num_days_from_ce())
}

/// Past values and days ahead `(day, low, median, high)` as a panel; `None` without two points.
fn panel(
    title: String,
    past: Vec<(f64, f64)>,
    ahead: Vec<(f64, f64, f64, f64)>,
    (today, end): (f64, f64),
    numbers: AxisKind,
) -> Option<LinePanel> {
    let begin = past.first().map(|p| p.0).or(ahead.first().map(|a| a.0))?;
    let values = past.iter().map(|p| p.1);
    let values: Vec<f64> = values.chain(ahead.iter().flat_map(|a| [a.1, a.3])).collect();
    let least = values.iter().copied().min_by(f64::total_cmp)?;
    let most = values.iter().copied().max_by(f64::total_cmp)?;
    if values.len() < 2 {
        return None;
    }
    let room = (0.08 * (most - least)).max(0.5);
    let axis = |kind, from, to| Axis {
        label: String::new(),
        kind,
        from,
        to,
    };
    let line = |points, band, colour| PlotLine {
        points,
        band,
        colour,
        band_colour: BAND,
    };
    let band = ahead.iter().map(|a| (a.0, a.1, a.3)).collect();
    let median = ahead.iter().map(|a| (a.0, a.2)).collect();
    Some(LinePanel {
        title,
        lines: vec![line(median, band, AHEAD), line(past, Vec::new(), PAST)],
        marked: Vec::new(),
        today_days: today,
        x_axis: axis(AxisKind::Day, begin, end.max(begin + 1.0)),
        y_axis: axis(numbers, least - room, most + room),
    })
}

fn level_alt(digest: &Digest, reader: &Reader) -> String {
    let week = &digest.behind;
    let mut said = vec!["Level and surface temperature of the past six weeks and the week ahead; lines across are the least levels of ramps.".to_owned()];
    if let Some((first, last)) = week.levels.first().zip(week.levels.last()) {
        said.push(format!(
            "Level {} on {}, {} on {}.",
            reader.elevation(first.elevation_m),
            reader.day(first.date),
            reader.elevation(last.elevation_m),
            reader.day(last.date)
        ));
    }
    if let Some((first, last)) = week.surfaces.first().zip(week.surfaces.last()) {
        said.push(format!(
            "Surface {} on {}, {} on {}.",
            reader.temp(first.mean_degc),
            reader.day(first.date),
            reader.temp(last.mean_degc),
            reader.day(last.date)
        ));
    }
    said.join(" ")
}

/// The shares of each species, day by day. `None` where no species has any.
///
/// # Errors
/// [`PictureError`].
pub fn share_chart(
    digest: &Digest,
    reader: &Reader,
    drawer: &mut Drawer,
) -> Result<Option<Chart>, PictureError> {
    let Some(first) = digest.ahead.first() else {
        return Ok(None);
    };
    let known = first.calls.iter().filter(|call| !call.zones.is_empty());
    let mut said: Vec<String> = vec!["Share of the fish by zone, day by day.".to_owned()];
    let mut panels = Vec::new();
    for call in known {
        let colour = |zone: &crate::lake::ZoneId| {
            let at = call.zones.keys().position(|id| id == zone).unwrap_or(0);
            ZONES[at % ZONES.len()]
        };
        let bars = digest.ahead.iter().filter_map(|day| {
            let own = day.calls.iter().find(|other| other.species == call.species)?;
            let parts = own.zones.iter().filter(|(_, z)| z.share > 0.0);
            let parts = parts.map(|(id, z)| (z.share as f32, colour(id))).collect();
            Some((reader.day(day.date), parts))
        });
        panels.push(BarPanel {
            title: format!("{}, % of the fish", words::capitalised(&call.name)),
            bars: bars.collect(),
            legend: call
                .zones
                .iter()
                .map(|(id, z)| (z.name.clone(), colour(id)))
                .collect(),
        });
        let zones: Vec<String> = call
            .zones
            .values()
            .map(|z| format!("{} {}", z.name, percent(z.share)))
            .collect();
        said.push(format!(
            "{} on {}: {}.",
            words::capitalised(&call.name),
            reader.day(first.date),
            zones.join(", ")
        ));
    }
    if panels.is_empty() {
        return Ok(None);
    }
    let alt = said.join(" ");
    let png = drawer.png(bars_scene(&panels, &alt))?;
    Ok(Some(Chart {
        name: "shares",
        alt,
        png,
        width: 440,
    }))
}
