//! What the digest says of the days ahead.

use super::words::Labelled;
use crate::conditions::Held;
use crate::faces::reader::{Reader, chance, compass, percent};
use crate::faces::words;
use crate::plan::{Caution, CautionLevel, RampChance};
use crate::reports::{Brief, DayCall, Digest, DigestDay};
use crate::whereabouts::{Verdict, ZoneShare};

/// A share of the rivers below this is not worth a word (project choice).
const SMALLEST_SAID_FRAC: f64 = 0.005;

/// One day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayWords {
    /// Day.
    pub day: String,
    /// Wind, chop, air, rain.
    pub weather: Vec<Labelled>,
    /// Cautions of that day that are strong or severe, or the wind that no forecast covers.
    pub cautions: Vec<String>,
    /// Whether one of them says to stay ashore.
    pub ashore: bool,
    /// By species.
    pub calls: Vec<CallWords>,
}

/// One species on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct CallWords {
    /// Species.
    pub species: String,
    /// Shares, the zones that can be fished first, the largest of them first.
    pub shares: Vec<ShareWords>,
    /// Depth.
    pub depth: String,
    /// What is said in place of shares, where nothing is known.
    pub not_known: Option<String>,
}

/// One share.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareWords {
    /// Zone.
    pub zone: String,
    /// Share.
    pub share: String,
    /// Its 80 % interval.
    pub interval: String,
}

impl CallWords {
    /// The shares in a line: `Sorrel Arm 40 % (17 to 65), ...`.
    pub fn shares_said(&self) -> String {
        let of = |s: &ShareWords| {
            if s.interval.is_empty() {
                format!("{} {}", s.zone, s.share)
            } else {
                format!("{} {} ({})", s.zone, s.share, s.interval)
            }
        };
        let said: Vec<String> = self.shares.iter().map(of).collect();
        said.join(", ")
    }
}

/// The words of one day.
pub fn day_words(brief: &Brief, day: &DigestDay, reader: &Reader) -> DayWords {
    let hard = |c: &&Caution| c.level >= CautionLevel::Strong || c.level == CautionLevel::NotKnown;
    let told: Vec<&Caution> = day.cautions.iter().filter(hard).collect();
    let ashore = |c: &&Caution| c.level == CautionLevel::Severe && words::says_stay_ashore(c.hazard);
    let mut cautions: Vec<String> = Vec::new();
    for caution in &told {
        let said = format!(
            "{} {}",
            words::level(caution.level),
            words::hazard(caution.hazard).to_lowercase()
        );
        if !cautions.contains(&said) {
            cautions.push(said);
        }
    }
    DayWords {
        day: reader.day(day.date),
        weather: weather(brief, day, reader),
        ashore: told.iter().any(ashore),
        cautions,
        calls: day
            .calls
            .iter()
            .map(|call| call_words(brief, call, reader))
            .collect(),
    }
}

fn weather(brief: &Brief, day: &DigestDay, reader: &Reader) -> Vec<Labelled> {
    let mut lines = Vec::new();
    let wind = day.wind_max_m_s.map_or_else(
        || "not known: no forecast covers the trip".to_owned(),
        |speed_m_s| {
            let gust = day.gust_max_m_s.map(|g| format!(", gusts {}", reader.speed(g)));
            let from = day.wind_direction_deg.map(|d| format!(", from {}", compass(d)));
            format!(
                "to {}{}{}",
                reader.speed(speed_m_s),
                gust.unwrap_or_default(),
                from.unwrap_or_default()
            )
        },
    );
    lines.push(("Wind".to_owned(), wind));
    let chop: Vec<String> = day
        .chop
        .iter()
        .filter_map(|c| {
            Some(format!(
                "{} {}",
                zone_name(brief, &c.zone),
                reader.length(c.wave_height_m?)
            ))
        })
        .collect();
    if !chop.is_empty() {
        lines.push(("Chop".to_owned(), chop.join(", ")));
    }
    let air = day.air_temp_min_degc.zip(day.air_temp_max_degc);
    let air = air.map(|(low, high)| format!("{} to {}", reader.temp_number(low), reader.temp(high)));
    let rain = day.rain_m.map(|rain_m| reader.rain_said(rain_m));
    let said: Vec<String> = [air, rain].into_iter().flatten().collect();
    if !said.is_empty() {
        lines.push(("Air".to_owned(), said.join(", ")));
    }
    lines
}

/// Name of a zone as it heads a column.
fn zone_name(brief: &Brief, zone: &crate::lake::ZoneId) -> String {
    let water = brief.water.zones.iter().find(|z| &z.zone == zone);
    water.map_or_else(|| zone.to_string(), |z| z.name.clone())
}

fn call_words(brief: &Brief, call: &DayCall, reader: &Reader) -> CallWords {
    let mut open: Vec<&ZoneShare> = call.zones.values().filter(|z| z.fishable).collect();
    open.sort_by(|a, b| b.share.total_cmp(&a.share));
    let interval = |z: &ZoneShare| {
        let low = percent(z.low);
        format!(
            "{} to {}",
            low.trim_end_matches(" %"),
            percent(z.high).trim_end_matches(" %")
        )
    };
    let mut shares: Vec<ShareWords> = open
        .into_iter()
        .map(|z| ShareWords {
            zone: z.name.clone(),
            share: percent(z.share),
            interval: interval(z),
        })
        .collect();
    if !call.zones.is_empty() && call.rivers_frac >= SMALLEST_SAID_FRAC {
        shares.push(ShareWords {
            zone: "in the rivers above trolling water".to_owned(),
            share: percent(call.rivers_frac),
            interval: String::new(),
        });
    }
    let band = call.band_top_m.zip(call.band_bottom_m);
    let depth = band.map_or_else(
        || "depth not known".to_owned(),
        |(top_m, bottom_m)| {
            let best = words::best_depth(call.band_best_m, call.band_reaches_limits, reader);
            format!(
                "{} in {}{best}",
                reader.band(top_m, bottom_m),
                words::zone(brief, &call.likeliest_fishable)
            )
        },
    );
    CallWords {
        species: words::capitalised(&call.name),
        shares,
        depth,
        not_known: match &call.verdict {
            Verdict::NotKnown { why } => Some(format!("where they are is not known: {why}")),
            _ => None,
        },
    }
}

/// Each ramp through the week, runs of days alike together.
pub fn ramp_lines(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let of = |index: usize, name: &str| {
        let days: Vec<_> = digest
            .ahead
            .iter()
            .filter_map(|d| Some((d.date, d.ramps.get(index)?)))
            .collect();
        let runs = days.chunk_by(|a, b| a.1.chance == b.1.chance);
        let all = days.len();
        let said: Vec<String> = runs
            .map(|run| {
                let what = match run[0].1.chance {
                    Some(RampChance::Usable) => "floats the boat",
                    Some(RampChance::Doubtful) => "doubtful",
                    Some(RampChance::NotUsable) => "out of use",
                    None => "not known",
                };
                let highest = run
                    .iter()
                    .filter_map(|(_, ramp)| ramp.below_prob)
                    .max_by(f64::total_cmp);
                let prob = highest.map(|p| format!(" (chance of too little water {})", chance(p)));
                let (first, last) = (run[0].0, run[run.len() - 1].0);
                let when = if run.len() == all {
                    "every day".to_owned()
                } else if first == last {
                    reader.day(first)
                } else {
                    format!("{} to {}", reader.day(first), reader.day(last))
                };
                format!("{what} {when}{}", prob.unwrap_or_default())
            })
            .collect();
        (name.to_owned(), said.join("; "))
    };
    let ramps = digest.brief.ramps.iter().enumerate();
    ramps.map(|(index, ramp)| of(index, &ramp.name)).collect()
}

/// Calm hours, a line each.
pub fn best_lines(digest: &Digest, reader: &Reader) -> Vec<String> {
    let of = |best: &crate::reports::BestHours| {
        let species = digest.brief.whereabouts.get(&best.species);
        format!(
            "{} to {}: wind below {} and little chop on {}, where {} of {} are",
            reader.day_hour(best.from),
            reader.hour(best.to),
            reader.speed(best.wind_max_m_s),
            words::zone(&digest.brief, &best.zone),
            percent(best.share_frac),
            species.map_or(best.species.as_str(), |call| call.name.as_str())
        )
    };
    digest.best_hours.iter().map(of).collect()
}

/// What of the days ahead is forecast, and what stands still.
pub fn days_rest_on(digest: &Digest) -> Vec<String> {
    let held: Vec<&Held> = digest.ahead.iter().flat_map(|day| &day.held).collect();
    let mut lines = vec![format!(
        "{}Wind is the speed that nine of ten forecasts stay below; chop is the highest of the trip. The further off, the less \
         certain; the forecast of the morning itself goes before.",
        forecast_said(&held)
    )];
    lines.extend(held_line(digest));
    lines
}

/// What is forecast of water, level and flows; nothing where all of them stand still on some day.
fn forecast_said(held: &[&Held]) -> String {
    let moving = |is_held: fn(&Held) -> bool| !held.iter().any(|one| is_held(one));
    let named = [
        ("water by depth", moving(|one| matches!(one, Held::Water))),
        ("level", moving(|one| matches!(one, Held::Level))),
        ("flows", moving(|one| matches!(one, Held::Flow { .. }))),
    ];
    let named: Vec<&str> = named
        .iter()
        .filter(|(_, moves)| *moves)
        .map(|(name, _)| *name)
        .collect();
    let Some((last, first)) = named.split_last() else {
        return String::new();
    };
    let are = if first.is_empty() && *last != "flows" {
        "is"
    } else {
        "are"
    };
    let joined = match first {
        [] => (*last).to_owned(),
        first => format!("{} and {last}", first.join(", ")),
    };
    format!(
        "{} of each day {are} forecast from the weather ahead and from release as it stands. ",
        words::capitalised(&joined)
    )
}

/// What stands on the days ahead as it does today, where anything does: the longest list of any day.
fn held_line(digest: &Digest) -> Option<String> {
    let held = digest
        .ahead
        .iter()
        .map(|day| &day.held)
        .max_by_key(|held| held.len())?;
    let mut said: Vec<String> = Vec::new();
    for one in held {
        let brief = &digest.brief;
        let what = match one {
            Held::Water => "the water by depth".to_owned(),
            Held::Level => "the level".to_owned(),
            Held::Flow { inflow } => format!("the flow of {}", words::inflow(brief, inflow.as_str())),
            Held::RiverTemp { inflow } => {
                format!("the temperature of {}", words::inflow(brief, inflow.as_str()))
            }
            Held::Turbidity => "turbidity".to_owned(),
            Held::Forage => "bait".to_owned(),
        };
        if !said.contains(&what) {
            said.push(what);
        }
    }
    (!said.is_empty()).then(|| {
        format!(
            "Nothing forecasts {}: on the days ahead it stands as it does today.",
            said.join(", ")
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::InflowId;

    #[test]
    fn what_stands_still_is_not_said_to_be_forecast() {
        let begins = |held: &[&Held]| {
            let said = forecast_said(held);
            said.split(" of each day ").next().map(str::to_owned)
        };
        let flow = Held::Flow {
            inflow: InflowId::new("x"),
        };
        for (held, words) in [
            (&[][..], "Water by depth, level and flows"),
            (
                &[&Held::Turbidity, &Held::Forage],
                "Water by depth, level and flows",
            ),
            (&[&Held::Water], "Level and flows"),
            (&[&Held::Water, &flow], "Level"),
            (&[&Held::Water, &Held::Level, &flow], ""),
        ] {
            assert_eq!(begins(held), Some(words.to_owned()), "{held:?}");
        }
        assert!(forecast_said(&[&Held::Water, &flow]).contains("Level of each day is forecast"));
    }
}
