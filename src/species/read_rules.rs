//! Reading the rows of rules of a species file.

use super::response::{PulseShape, StockingScale};
use super::walk::{Node, Walk};
use super::{Response, RuleRow, RuleZone};

/// Ids of the seasons that the file gives, faulty ones too, so that a rule that names one is not
/// blamed for them.
pub(super) fn read_season_names(walk: &mut Walk, root: &Node) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for node in walk.tables(root, "seasons", false) {
        let Some(name) = node.text_of("id") else { continue };
        if names.contains(&name) {
            walk.fault(
                node.span_of("id"),
                format!("season `{name}` twice"),
                "an id of its own",
                "rename one of them",
            );
        }
        names.push(name);
    }
    names
}

/// The rules of the file.
pub(super) fn read_rules(
    walk: &mut Walk,
    root: &Node,
    seasons: &[String],
    has_maturity: bool,
) -> Option<Vec<RuleRow>> {
    let tables = walk.tables(root, "rules", true);
    let rows: Vec<Option<RuleRow>> = tables.iter().map(|t| read_rule(walk, t, seasons)).collect();
    for (i, node) in tables.iter().enumerate() {
        let Some(row) = &rows[i] else { continue };
        if rows[..i].iter().flatten().any(|other| other.id == row.id) {
            let found = format!("rule `{}` twice", row.id);
            walk.fault(
                node.span_of("id"),
                found,
                "an id of its own",
                "rename one of them",
            );
        }
        if row.mature_only && !has_maturity {
            walk.fault(
                node.span_of("mature_only"),
                "a rule for mature fish only, and no `[maturity]`".to_owned(),
                "the prior of the mature share",
                "add `[maturity]` with alpha, beta and source",
            );
        }
    }
    rows.into_iter().collect()
}

fn read_rule(walk: &mut Walk, node: &Node, seasons: &[String]) -> Option<RuleRow> {
    walk.only(
        node,
        &[
            "id",
            "label",
            "response",
            "parameters",
            "mean",
            "sd",
            "zones",
            "river_factor",
            "mature_only",
            "unknown_half_range",
            "evidence",
            "source",
        ],
    );
    let id = walk.text(node, "id");
    let label = walk.text(node, "label");
    let response = read_response(walk, node, seasons);
    let mean = walk.number(node, "mean");
    let sd = walk.number_where(node, "sd", "a number of at least 0", |x| x >= 0.0);
    let zones = read_zones(walk, node);
    let river_factor = walk.number_if_given(node, "river_factor").unwrap_or(1.0);
    let mature_only = walk.flag(node, "mature_only");
    let half_range = walk.number_where(node, "unknown_half_range", "a number of at least 0", |x| x >= 0.0);
    let evidence = walk.text(node, "evidence");
    let source = walk.text(node, "source");
    Some(RuleRow {
        id: id?,
        label: label?,
        response: response?,
        mean: mean?,
        sd: sd?,
        zones: zones?,
        river_factor,
        mature_only: mature_only?,
        unknown_half_range: half_range?,
        evidence: evidence?,
        source: source?,
    })
}

fn read_zones(walk: &mut Walk, node: &Node) -> Option<Vec<RuleZone>> {
    let wanted = "a list of \"arm\" and \"river\", not empty";
    let words = walk.texts(node, "zones", wanted)?;
    let zones: Option<Vec<RuleZone>> = words
        .iter()
        .map(|word| match word.as_str() {
            "arm" => Some(RuleZone::Arm),
            "river" => Some(RuleZone::River),
            _ => None,
        })
        .collect();
    let zones = zones.filter(|z| !z.is_empty());
    if zones.is_none() {
        walk.fault(
            node.span_of("zones"),
            format!("{words:?} for `zones`"),
            wanted,
            "name the kinds of zone",
        );
    }
    zones
}

/// Keys of the parameters of the response `name`; `None` where there is no such response.
fn parameter_keys(name: &str) -> Option<&'static [&'static str]> {
    Some(match name {
        "constant" | "suitability_difference" | "forage_difference" => &[],
        "volume_ratio" => &["bound"],
        "cold_refuge" => &["colder_by_degc", "lake_degc"],
        "spring_pulse" => &["season", "ratio", "fade_days", "opens_degc", "closes_degc"],
        "run" => &["season", "closes_degc"],
        "run_pulse" => &["season", "ratio", "fade_days", "closes_degc"],
        "pulse_out_of_season" => &["season", "ratio", "fade_days"],
        "turbid" => &["turbidity_ntu"],
        "stocking" => &["full_count", "fade_m", "fade_days"],
        "level_falling" => &["fall_m"],
        "level_rising" => &["rise_m"],
        "isothermal" => &["difference_degc"],
        _ => return None,
    })
}

fn read_response(walk: &mut Walk, node: &Node, seasons: &[String]) -> Option<Response> {
    let name = walk.text(node, "response")?;
    let Some(keys) = parameter_keys(&name) else {
        let wanted = format!("one of {}", Response::NAMES.join(", "));
        walk.fault(
            node.span_of("response"),
            format!("`{name}`"),
            &wanted,
            "name one of these response functions",
        );
        return None;
    };
    if keys.is_empty() {
        if let Some(parameters) = walk.table_if_given(node, "parameters") {
            walk.only(&parameters, &[]);
        }
        return Some(match name.as_str() {
            "constant" => Response::Constant,
            "forage_difference" => Response::ForageDifference,
            _ => Response::SuitabilityDifference,
        });
    }
    let p = walk.table(node, "parameters")?;
    walk.only(&p, keys);
    read_parameters(walk, &p, &name, seasons)
}

fn read_parameters(walk: &mut Walk, p: &Node, name: &str, seasons: &[String]) -> Option<Response> {
    Some(match name {
        "volume_ratio" => Response::VolumeRatio {
            bound: walk.number_where(p, "bound", "a number above 0", |x| x > 0.0)?,
        },
        "cold_refuge" => {
            let (colder, lake) = (walk.ramp(p, "colder_by_degc"), walk.ramp(p, "lake_degc"));
            Response::ColdRefuge {
                colder_by_degc: colder?,
                lake_degc: lake?,
            }
        }
        "spring_pulse" => {
            let (season, pulse) = (read_season_name(walk, p, seasons), read_pulse(walk, p));
            let (opens, closes) = (walk.ramp(p, "opens_degc"), walk.ramp(p, "closes_degc"));
            Response::SpringPulse {
                season: season?,
                pulse: pulse?,
                opens_degc: opens?,
                closes_degc: closes?,
            }
        }
        "run" => {
            let (season, closes) = (read_season_name(walk, p, seasons), walk.ramp(p, "closes_degc"));
            Response::Run {
                season: season?,
                closes_degc: closes?,
            }
        }
        "run_pulse" => {
            let (season, pulse) = (read_season_name(walk, p, seasons), read_pulse(walk, p));
            let closes = walk.ramp(p, "closes_degc");
            Response::RunPulse {
                season: season?,
                pulse: pulse?,
                closes_degc: closes?,
            }
        }
        "pulse_out_of_season" => {
            let (season, pulse) = (read_season_name(walk, p, seasons), read_pulse(walk, p));
            Response::PulseOutOfSeason {
                season: season?,
                pulse: pulse?,
            }
        }
        "turbid" => Response::Turbid {
            turbidity_ntu: walk.ramp(p, "turbidity_ntu")?,
        },
        "stocking" => {
            let mut scale = |key| walk.number_where(p, key, "a number above 0", |x| x > 0.0);
            let (count, way, days) = (scale("full_count"), scale("fade_m"), scale("fade_days"));
            Response::Stocking(StockingScale {
                full_count: count?,
                fade_m: way?,
                fade_days: days?,
            })
        }
        "level_falling" => Response::LevelFalling {
            fall_m: walk.ramp(p, "fall_m")?,
        },
        "level_rising" => Response::LevelRising {
            rise_m: walk.ramp(p, "rise_m")?,
        },
        _ => Response::Isothermal {
            difference_degc: walk.ramp(p, "difference_degc")?,
        },
    })
}

fn read_season_name(walk: &mut Walk, p: &Node, seasons: &[String]) -> Option<String> {
    let name = walk.text(p, "season")?;
    if !seasons.contains(&name) {
        let wanted = format!("a season of this file ({})", seasons.join(", "));
        walk.fault(
            p.span_of("season"),
            format!("`{name}` for `season`"),
            &wanted,
            "name it, or add `[[seasons]]`",
        );
        return None;
    }
    Some(name)
}

fn read_pulse(walk: &mut Walk, p: &Node) -> Option<PulseShape> {
    let ratio = walk.ramp(p, "ratio");
    let fade_days = walk.number_where(p, "fade_days", "a number above 0", |x| x > 0.0);
    let ratio = ratio?;
    if ratio.zero_at <= 0.0 {
        walk.fault(
            p.span_of("ratio"),
            format!("{} as the lower ratio", ratio.zero_at),
            "ratios above 0, for their logarithm is taken",
            "mend the ratio",
        );
        return None;
    }
    Some(PulseShape {
        ratio,
        fade_days: fade_days?,
    })
}
