//! Words for what a report holds as values: hazards, gaps, verdicts, bases.

use crate::column::ProfileBasis;
use crate::plan::{CautionLevel, Hazard};
use crate::reports::Lacking;
use crate::series::{Consequence, Gap, GapReason};

use super::reader::{Reader, age};

/// Name of a hazard.
pub fn hazard(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Wind => "Wind",
        Hazard::Waves => "Waves",
        Hazard::ColdWater => "Cold water",
        Hazard::Ice => "Ice",
        Hazard::Thunder => "Lightning",
        Hazard::Debris => "Floating debris",
        Hazard::LowWater => "Low water",
        Hazard::ChangingLevel => "Changing level",
        Hazard::Fog => "Fog",
        Hazard::Darkness => "Darkness",
        Hazard::Ramp => "Ramps",
        Hazard::LifeJacket => "Life jacket",
        Hazard::Regulations => "Rules",
    }
}

/// Word of a caution's level.
pub fn level(level: CautionLevel) -> &'static str {
    match level {
        CautionLevel::Severe => "SEVERE",
        CautionLevel::Strong => "STRONG",
        CautionLevel::Caution => "CAUTION",
        CautionLevel::NotKnown => "NOT KNOWN",
        CautionLevel::Reminder => "ALWAYS",
    }
}

/// What to do about a hazard: the usual advice of the trade and of public safety notes.
pub fn advice(hazard: Hazard, level: CautionLevel) -> &'static str {
    if level == CautionLevel::NotKnown {
        return "not known from these data: check before you launch";
    }
    match (hazard, level) {
        (Hazard::Wind | Hazard::Waves, CautionLevel::Severe) => "do not launch a small boat",
        (Hazard::Wind | Hazard::Waves, _) => "stay where you can reach shelter, and be off before it builds",
        (Hazard::ColdWater, _) => "wear a life jacket and dress for the water, not for the air",
        (Hazard::Ice, _) => "ice may be on the water or the ramp: do not launch before you have looked",
        (Hazard::Thunder, _) => "do not go out if storms are possible; off the water at the first thunder",
        (Hazard::Debris, _) => "run slowly with a lookout, not in the dark",
        (Hazard::LowWater, _) => "slow over shallow ground; rocks and stumps lie just under the surface",
        (Hazard::ChangingLevel, _) => "watch moorings and the ramp; releases may change without notice",
        (Hazard::Fog, CautionLevel::Caution) => "be ready to stop; lights and sound signals",
        (Hazard::Fog, _) => "do not run in it",
        (Hazard::Darkness, _) => "show lights and keep clear of shallow hazards until dawn",
        (Hazard::Ramp, CautionLevel::Reminder) => "by level only; gate, closure and surface are not known",
        (Hazard::Ramp, _) => "out of use at this level",
        (Hazard::LifeJacket, _) => "wear it, all the time",
        (Hazard::Regulations, _) => "local rules, closures and official warnings come before anything below",
    }
}

/// What the names behind a caution are, where they do not say it themselves.
pub fn names_lead(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::LowWater => "ramp ends near the surface ",
        _ => "",
    }
}

/// How many of ten draws.
pub fn of_ten(prob: f64) -> String {
    let tenths = (prob * 10.0).round();
    match tenths {
        t if t >= 10.0 => "nearly all draws".to_owned(),
        t if t <= 0.0 => "hardly any draw".to_owned(),
        t => format!("{t:.0} of 10 draws"),
    }
}

/// What a profile rests on.
pub fn basis(reader: &Reader, basis: &ProfileBasis) -> String {
    match basis {
        ProfileBasis::Measured { observed_at } => {
            format!("measured by depth {}", reader.day_hour(*observed_at))
        }
        ProfileBasis::SurfaceMeasured { observed_at } => {
            format!(
                "surface measured {}, below it a rule of thumb",
                reader.day_hour(*observed_at)
            )
        }
        ProfileBasis::SurfaceFromMainBody { observed_at } => {
            format!(
                "not measured here: surface of the main body {}, below it a rule of thumb",
                reader.day_hour(*observed_at)
            )
        }
        ProfileBasis::SurfaceModelled => {
            "surface computed from air temperature, below it a rule of thumb".to_owned()
        }
        ProfileBasis::SeasonOnly => "only the season is known".to_owned(),
    }
}

/// A gap in one sentence: what, why, and what follows.
pub fn gap(reader: &Reader, gap: &Gap) -> String {
    let text = format!(
        "{}: {}; {}",
        gap.what,
        gap_reason(reader, &gap.reason),
        consequence(&gap.consequence)
    );
    text.replace('_', " ")
}

fn gap_reason(reader: &Reader, reason: &GapReason) -> String {
    match reason {
        GapReason::NotDescribed => "the lake file names no source".to_owned(),
        GapReason::NoData => "no values".to_owned(),
        GapReason::Late {
            newest,
            age_h,
            allowed_h,
        } => format!(
            "late, newest {} ({} old, {} is usual)",
            reader.day_hour(*newest),
            age(*age_h),
            age(*allowed_h)
        ),
        GapReason::TooFew { found, wanted } => format!("{found} values where {wanted} are needed"),
        GapReason::Refused { refused, of } => {
            format!("{refused} of {of} values refused by the quality checks")
        }
        GapReason::FetchFailed { service, message } => format!("{service} did not deliver ({message})"),
        GapReason::StoreDamaged { set_aside } => {
            format!("its file in the store was damaged, set aside as {set_aside}")
        }
    }
}

fn consequence(consequence: &Consequence) -> String {
    match consequence {
        Consequence::LeftOut { figure } => format!("{figure} left out"),
        Consequence::Wider { figure } => format!("{figure} wider"),
        Consequence::StandIn { stand_in } => format!("{stand_in} stands in"),
        Consequence::CautionGiven { caution } => format!("caution given instead: {caution}"),
        Consequence::TooThin => "the brief is too thin to trust".to_owned(),
    }
}

/// One essential input that is missing or too old.
pub fn lacking(lacking: &Lacking) -> String {
    let old = |age_h: &Option<f64>| match age_h {
        Some(age_h) => format!("too old or refused ({})", age(*age_h)),
        None => "missing".to_owned(),
    };
    match lacking {
        Lacking::Level { age_h: None } => {
            "level missing: ramps and low-water hazards are not known".to_owned()
        }
        Lacking::Level { age_h } => {
            format!(
                "level {}: ramps and low-water hazards are judged by a lower pool, or not known",
                old(age_h)
            )
        }
        Lacking::Hypsography => {
            "no elevation-area table: volumes, and how much water suits the fish, are not known".to_owned()
        }
        Lacking::WaterTemperature => {
            "the lake's temperature is neither measured nor computed from weather".to_owned()
        }
        Lacking::Wind { age_h } => format!("wind forecast {}", old(age_h)),
        Lacking::Inflow { inflow, age_h } => format!("flow of {inflow} {}", old(age_h)),
    }
}

/// `text` with a capital first letter.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
