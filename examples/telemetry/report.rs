//! The comparison as a value.

use std::path::Path;

use chrono::NaiveDate;
use plungeline::lake::{Lake, read_lake_file};
use plungeline::skill::intervals::Interval;
use plungeline::skill::telemetry::{MONTHS, rank_correlation, total_variation};
use plungeline::sources::service_rules;
use plungeline::species::{Species, builtin};
use serde::Serialize;

use super::Fault;
use super::areas::{AREAS, GROUPS, Lines, RIVER, groups};
use super::estimates::{
    Estimate, HiddenEstimate, SETTLE_DAYS, fish_by_month, from_the_start, held, hidden, rule,
};
use super::record::Record;
use super::rules::{RuleMonth, Variant, rule_months};
use super::tracks::{Choices, Telemetry, telemetry};

/// Species by the record's name and by ours.
const SPECIES: (&str, &str) = ("Rainbow Trout", "rainbow-trout");
/// Longest silence between two positions that is bridged, days; the second shows what hangs on it.
pub const GAP_DAYS: [u64; 2] = [28, 7];

/// Rivers in full pulse from 15 April to 30 June.
const FRESHET: Variant = Variant {
    warmer_degc: 0.0,
    freshet: true,
    lardeau_only: false,
};

/// Main lake, arms, rivers.
pub type Shares = Vec<f64>;
/// Lower and upper end.
pub type Ends = [f64; 2];

/// The whole comparison.
#[derive(Debug, Serialize)]
pub struct Report {
    pub groups: [&'static str; 3],
    pub areas: [&'static str; 5],
    pub counts: Counts,
    pub hidden: Hidden,
    pub months: Vec<Month>,
    /// Of hidden states against the rules: by the rules as they stand, and changed.
    pub agreement: Vec<Agreement>,
}

/// What the record holds.
#[derive(Debug, Serialize)]
pub struct Counts {
    pub captured: usize,
    pub tagged: usize,
    pub heard: usize,
    pub receiver_hours: usize,
    pub unplaced_hours: usize,
    pub may_lie_on_the_bed: Vec<String>,
    pub last_day: NaiveDate,
    pub fish_weeks: usize,
}

/// What the fit of the hidden states came to.
#[derive(Debug, Serialize)]
pub struct Hidden {
    pub log_likelihood: f64,
    pub rounds: usize,
    pub converged: bool,
    /// Chance to hear a fish in hearing in a week with all receivers of its area, by area.
    pub heard_in_a_week_prob: Vec<f64>,
}

/// One month.
#[derive(Debug, Serialize)]
pub struct Month {
    pub month: u32,
    pub fish: usize,
    pub fish_days: f64,
    pub unplaced_days: f64,
    pub receiver_days: Vec<f64>,
    /// Days with a hearing alone.
    pub heard: Option<Shares>,
    /// Positions held over 28 days, and over 7.
    pub held: Option<Shares>,
    pub held_interval: Vec<Option<Ends>>,
    pub held_short: Option<Shares>,
    /// Least and greatest share that days without a place allow, of positions held over 28 days.
    pub bounds: Vec<Option<Ends>>,
    /// All days from the capture on, and tags that may lie on the bed counted as well.
    pub held_unsettled: Option<Shares>,
    pub held_still_too: Option<Shares>,
    /// The lines across the lake counted to the main lake.
    pub held_lines_to_main: Option<Shares>,
    pub hidden: Option<Shares>,
    pub hidden_interval: Vec<Option<Ends>>,
    pub hidden_by_area: Vec<f64>,
    pub gone_days: f64,
    pub unheard_days: f64,
    pub rules: Shares,
    pub rules_interval: Vec<Ends>,
    pub rules_by_zone: Vec<(String, f64)>,
    /// The rules with a full pulse of the rivers from 15 April to 30 June, and none else.
    pub rules_in_freshet: Shares,
    /// Rules less hidden states.
    pub difference: Option<Shares>,
    /// Whether the rules' interval holds the share of the hidden states.
    pub covered: Option<Vec<bool>>,
}

/// How far the rules agree over the months.
#[derive(Debug, Serialize)]
pub struct Agreement {
    pub rules: &'static str,
    /// Means over the months, by hidden states and by the rules.
    pub observed_mean: Shares,
    pub rules_mean: Shares,
    /// Months in which the rules' interval holds the observed share, by group.
    pub covered_months: Vec<usize>,
    pub months: usize,
    /// By group; `None` where the observed or the rules' shares do not differ from month to month.
    pub rank_correlation: Vec<Option<f64>>,
    /// Mean over the months.
    pub total_variation: f64,
}

fn ends(interval: Interval) -> Ends {
    [interval.low, interval.high]
}

/// The lake file of the comparison.
pub fn lake() -> Result<Lake, Fault> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/validation/telemetry/lake.toml");
    Ok(read_lake_file(&file, &service_rules())?)
}

/// Observed and expected shares of rainbow trout, month by month, of days from and until those given.
pub fn report(
    record: &Record,
    (from, until): (Option<NaiveDate>, Option<NaiveDate>),
    resamples: usize,
) -> Result<Report, Fault> {
    let of = |still_too, lines| {
        let choices = Choices {
            from,
            until,
            still_too,
            lines,
        };
        telemetry(record, SPECIES.0, choices)
    };
    let fish = of(false, Lines::Arms)?;
    let (still_too, lines_to_main) = (of(true, Lines::Arms)?, of(false, Lines::Main)?);
    let from = from.unwrap_or_else(|| from_the_start(&fish));
    let settled = |gap_days| rule(gap_days, SETTLE_DAYS, from);
    let observed = Observed {
        fish_by_month: fish_by_month(&fish, settled(GAP_DAYS[0])),
        heard: held(&fish, settled(1), 100)?,
        held: held(&fish, settled(GAP_DAYS[0]), resamples)?,
        held_short: held(&fish, settled(GAP_DAYS[1]), 100)?,
        unsettled: held(&fish, rule(GAP_DAYS[0], 1, from), 100)?,
        still_too: held(&still_too, settled(GAP_DAYS[0]), 100)?,
        lines_to_main: held(&lines_to_main, settled(GAP_DAYS[0]), 100)?,
        hidden: hidden(&fish, from, resamples)?,
    };
    let (lake, species) = (lake()?, builtin(SPECIES.1)?);
    let rules = rule_months(&lake, &species, Variant::default());
    let in_freshet = rule_months(&lake, &species, FRESHET);
    let months = (0..MONTHS)
        .map(|m| month(&fish, &observed, (&rules[m], &in_freshet[m]), m))
        .collect();
    let mut agreement = agreements(&observed.hidden.estimate, &lake, &species)?;
    let other_border = hidden(&lines_to_main, from, 0)?.estimate;
    let name = "temperatures alone; fish at the lines counted to the main lake";
    agreement.push(self::agreement(&other_border, name, &rules)?);
    Ok(Report {
        groups: GROUPS,
        areas: AREAS,
        counts: Counts {
            captured: fish.captured,
            tagged: fish.tagged.len(),
            heard: fish.heard,
            receiver_hours: fish.receiver_hours,
            unplaced_hours: fish.unplaced_hours,
            may_lie_on_the_bed: fish.still.clone(),
            last_day: fish.last_day,
            fish_weeks: fish.histories.iter().map(|h| h.heard.len() - 1).sum(),
        },
        hidden: hidden_words(&fish, &observed.hidden),
        months,
        agreement,
    })
}

struct Observed {
    fish_by_month: Vec<usize>,
    heard: Estimate,
    held: Estimate,
    held_short: Estimate,
    unsettled: Estimate,
    still_too: Estimate,
    lines_to_main: Estimate,
    hidden: HiddenEstimate,
}

fn month(
    fish: &Telemetry,
    observed: &Observed,
    (rules, in_freshet): (&RuleMonth, &RuleMonth),
    m: usize,
) -> Month {
    let of = |intervals: &[Option<Interval>]| intervals.iter().map(|i| i.map(ends)).collect();
    let hidden = observed.hidden.estimate.shares(m);
    let within = |(share, interval): (&f64, &Interval)| (interval.low..=interval.high).contains(share);
    let difference = |shares: &Shares| rules.share.iter().zip(shares).map(|(r, o)| r - o).collect();
    let by_area = |area| observed.hidden.days.alive.share(m, &[area]).unwrap_or(0.0);
    Month {
        month: m as u32 + 1,
        fish: observed.fish_by_month[m],
        fish_days: observed.held.days.placed_days(m),
        unplaced_days: observed.held.days.unplaced_days[m],
        receiver_days: fish.receiver_days[m].clone(),
        heard: observed.heard.shares(m),
        held: observed.held.shares(m),
        held_interval: of(&observed.held.interval[m]),
        held_short: observed.held_short.shares(m),
        bounds: groups()
            .iter()
            .map(|g| observed.held.days.bounds(m, g).map(ends))
            .collect(),
        held_unsettled: observed.unsettled.shares(m),
        held_still_too: observed.still_too.shares(m),
        held_lines_to_main: observed.lines_to_main.shares(m),
        hidden_interval: of(&observed.hidden.estimate.interval[m]),
        hidden_by_area: (0..AREAS.len()).map(by_area).collect(),
        gone_days: observed.hidden.days.gone_days[m],
        unheard_days: observed.hidden.days.unheard_days[m],
        rules: rules.share.clone(),
        rules_interval: rules.interval.iter().copied().map(ends).collect(),
        rules_by_zone: rules
            .zones
            .iter()
            .map(|(id, share)| (id.to_string(), *share))
            .collect(),
        rules_in_freshet: in_freshet.share.clone(),
        difference: hidden.as_ref().map(difference),
        covered: hidden
            .as_ref()
            .map(|shares| shares.iter().zip(&rules.interval).map(within).collect()),
        hidden,
    }
}

fn hidden_words(fish: &Telemetry, hidden: &HiddenEstimate) -> Hidden {
    let most = |area: usize| {
        fish.design
            .receiver_days
            .iter()
            .map(|w| w[area])
            .fold(0.0, f64::max)
    };
    let chance = |area: usize| 1.0 - (-hidden.fit.model.heard_per_day[area] * most(area)).exp();
    Hidden {
        log_likelihood: hidden.fit.log_likelihood,
        rounds: hidden.fit.rounds,
        converged: hidden.fit.converged,
        heard_in_a_week_prob: (0..=RIVER).map(chance).collect(),
    }
}

/// The rules as they stand, and with other temperatures, flows and rivers.
fn agreements(observed: &Estimate, lake: &Lake, species: &Species) -> Result<Vec<Agreement>, Fault> {
    let warmer = |warmer_degc| Variant {
        warmer_degc,
        ..Variant::default()
    };
    let lardeau_only = Variant {
        lardeau_only: true,
        ..Variant::default()
    };
    let variants = [
        ("temperatures alone", Variant::default()),
        ("2 degC warmer", warmer(2.0)),
        ("2 degC colder", warmer(-2.0)),
        ("full pulse from 15 April to 30 June", FRESHET),
        ("the Lardeau River alone", lardeau_only),
    ];
    let each = variants.into_iter();
    each.map(|(name, variant)| agreement(observed, name, &rule_months(lake, species, variant)))
        .collect()
}

fn agreement(observed: &Estimate, rules: &'static str, expected: &[RuleMonth]) -> Result<Agreement, Fault> {
    let known: Vec<(Shares, &RuleMonth)> = (0..MONTHS)
        .filter_map(|m| Some((observed.shares(m)?, &expected[m])))
        .collect();
    if known.is_empty() {
        return Err("no month has a day of a tagged fish; see --from and --until".into());
    }
    let mean =
        |of: &dyn Fn(&(Shares, &RuleMonth)) -> f64| known.iter().map(of).sum::<f64>() / known.len() as f64;
    let by_group = 0..GROUPS.len();
    let covered = |g: usize| {
        let holds = |(o, r): &&(Shares, &RuleMonth)| (r.interval[g].low..=r.interval[g].high).contains(&o[g]);
        known.iter().filter(holds).count()
    };
    let correlation = |g: usize| {
        let (o, r): (Vec<f64>, Vec<f64>) = known.iter().map(|(o, r)| (o[g], r.share[g])).unzip();
        rank_correlation(&o, &r).ok()
    };
    let distances: Result<Vec<f64>, _> = known.iter().map(|(o, r)| total_variation(o, &r.share)).collect();
    Ok(Agreement {
        rules,
        observed_mean: by_group.clone().map(|g| mean(&|(o, _)| o[g])).collect(),
        rules_mean: by_group.clone().map(|g| mean(&|(_, r)| r.share[g])).collect(),
        covered_months: by_group.clone().map(covered).collect(),
        months: known.len(),
        rank_correlation: by_group.map(correlation).collect(),
        total_variation: distances?.iter().sum::<f64>() / known.len() as f64,
    })
}
