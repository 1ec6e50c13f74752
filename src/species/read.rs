//! Reading a species file: everything is checked, and every fault is reported at once.

use toml::de::DeTable;

use super::catchability::read_catchability;
use super::read_rules::{read_rules, read_season_names};
use super::walk::{Node, Walk};
use super::{
    DepthSettings, HardLimits, Maturity, NamedCurve, NamedSeason, OxygenCurves, Season, SignNote, Species,
    SpeciesError, TemperatureCurves, Unknown,
};

/// The species of a file's text. `file` names the file in messages, `id` is the stem of its name.
///
/// # Errors
/// [`SpeciesError::Faulty`] with every fault of the file, in the order of the file.
pub fn read_species(text: &str, id: &str, file: &str) -> Result<Species, SpeciesError> {
    let mut walk = Walk::new(text, file);
    let (root, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        walk.fault(span, error.message().to_owned(), "valid TOML", "mend the syntax");
    }
    if walk.is_clean() {
        let species = read_root(&mut walk, &Node::root(&root), id);
        if let (Some(species), true) = (species, walk.is_clean()) {
            return Ok(species);
        }
    }
    Err(SpeciesError::Faulty {
        file: file.to_owned(),
        faults: walk.into_faults(),
    })
}

fn read_root(walk: &mut Walk, root: &Node, id: &str) -> Option<Species> {
    walk.only(
        root,
        &[
            "name",
            "temperature",
            "oxygen",
            "limits",
            "depth",
            "seasons",
            "maturity",
            "signs",
            "rules",
            "catchability",
            "not_known",
        ],
    );
    let name = walk.text(root, "name");
    let not_known = read_not_known(walk, root);
    let is_known = |part: Unknown| not_known.iter().all(|(other, _)| *other != part);
    let temperature = is_known(Unknown::Temperature).then(|| {
        walk.table(root, "temperature")
            .and_then(|t| read_temperature(walk, &t))
    });
    let oxygen =
        is_known(Unknown::Oxygen).then(|| walk.table(root, "oxygen").and_then(|t| read_oxygen(walk, &t)));
    let limits =
        is_known(Unknown::Limits).then(|| walk.table(root, "limits").and_then(|t| read_limits(walk, &t)));
    let depth = walk.table(root, "depth").and_then(|t| read_depth(walk, &t));
    let seasons = read_seasons(walk, root);
    let maturity = walk
        .table_if_given(root, "maturity")
        .map(|t| read_maturity(walk, &t));
    let signs = walk
        .tables(root, "signs", false)
        .iter()
        .map(|t| read_sign(walk, t))
        .collect();
    let names = read_season_names(walk, root);
    let rules = match is_known(Unknown::Rules) {
        true => read_rules(walk, root, &names, maturity.is_some()),
        false => Some(Vec::new()),
    };
    let catchability = read_catchability(walk, root);
    Some(Species {
        id: id.to_owned(),
        name: name?,
        temperature: known(temperature)?,
        oxygen: known(oxygen)?,
        limits: known(limits)?,
        depth: depth?,
        seasons: seasons?,
        maturity: known(maturity)?,
        signs: all(signs)?,
        rules: rules?,
        catchability: catchability?,
        not_known,
    })
}

/// A part that is not there, or one that was read without a fault.
fn known<T>(part: Option<Option<T>>) -> Option<Option<T>> {
    match part {
        Some(read) => Some(Some(read?)),
        None => Some(None),
    }
}

/// Parts that the file says are not known, with why. One that is given all the same is a fault.
fn read_not_known(walk: &mut Walk, root: &Node) -> Vec<(Unknown, String)> {
    let Some(table) = walk.table_if_given(root, "not_known") else {
        return Vec::new();
    };
    walk.only(&table, &Unknown::ALL.map(Unknown::key));
    let mut not_known = Vec::new();
    for part in Unknown::ALL.into_iter().filter(|part| table.has(part.key())) {
        if root.has(part.key()) {
            walk.fault(
                table.span_of(part.key()),
                format!("`{}` as not known, and given", part.key()),
                "one of both",
                "take one of them out",
            );
        }
        not_known.extend(walk.text(&table, part.key()).map(|why| (part, why)));
    }
    not_known
}

fn all<T>(parts: Vec<Option<T>>) -> Option<Vec<T>> {
    parts.into_iter().collect()
}

fn read_temperature(walk: &mut Walk, node: &Node) -> Option<TemperatureCurves> {
    walk.only(node, &["use", "curves"]);
    let tables = walk.tables(node, "curves", true);
    let known: Vec<String> = tables.iter().filter_map(|t| t.text_of("id")).collect();
    let curves = tables
        .iter()
        .map(|t| read_curve(walk, t, "points_degc", None))
        .collect();
    let chosen = walk.text(node, "use")?;
    let in_use = known.iter().position(|id| *id == chosen);
    if in_use.is_none() {
        let wanted = format!("one of {}", known.join(", "));
        walk.fault(
            node.span_of("use"),
            format!("`{chosen}`"),
            &wanted,
            "name a curve of this file",
        );
    }
    Some(TemperatureCurves {
        curves: all(curves)?,
        in_use: in_use?,
    })
}

fn read_curve(walk: &mut Walk, node: &Node, points: &str, fixed_id: Option<&str>) -> Option<NamedCurve> {
    let id = match fixed_id {
        None => {
            walk.only(node, &["id", points, "source"]);
            walk.text(node, "id")
        }
        Some(id) => {
            walk.only(node, &[points, "source"]);
            Some(id.to_owned())
        }
    };
    let curve = walk.curve(node, points);
    let source = walk.text(node, "source");
    Some(NamedCurve {
        id: id?,
        curve: curve?,
        source: source?,
    })
}

fn read_oxygen(walk: &mut Walk, node: &Node) -> Option<OxygenCurves> {
    walk.only(node, &["split_degc", "split_source", "cold", "warm"]);
    let split_degc = walk.number(node, "split_degc");
    let split_source = walk.text(node, "split_source");
    let cold = walk
        .table(node, "cold")
        .and_then(|t| read_curve(walk, &t, "points_mg_l", Some("cold")));
    let warm = walk
        .table(node, "warm")
        .and_then(|t| read_curve(walk, &t, "points_mg_l", Some("warm")));
    Some(OxygenCurves {
        cold: cold?,
        warm: warm?,
        split_degc: split_degc?,
        split_source: split_source?,
    })
}

fn read_limits(walk: &mut Walk, node: &Node) -> Option<HardLimits> {
    walk.only(
        node,
        &["temp_min_degc", "temp_max_degc", "oxygen_min_mg_l", "source"],
    );
    let temp_min_degc = walk.number_if_given(node, "temp_min_degc");
    let temp_max_degc = walk.number(node, "temp_max_degc");
    let oxygen_min_mg_l = walk.number_where(node, "oxygen_min_mg_l", "a number of at least 0", |x| x >= 0.0);
    let source = walk.text(node, "source");
    if let (Some(low), Some(high)) = (temp_min_degc, temp_max_degc)
        && low >= high
    {
        walk.fault(
            node.span_of("temp_min_degc"),
            format!("{low} degC as the coldest, {high} degC as the warmest"),
            "a coldest below the warmest",
            "exchange or mend them",
        );
    }
    Some(HardLimits {
        temp_min_degc,
        temp_max_degc: temp_max_degc?,
        oxygen_min_mg_l: oxygen_min_mg_l?,
        source: source?,
    })
}

fn read_depth(walk: &mut Walk, node: &Node) -> Option<DepthSettings> {
    walk.only(node, &["exponent", "unmeasured_sd_m", "source"]);
    let exponent = walk.number_where(node, "exponent", "a number of at least 0", |x| x >= 0.0);
    let unmeasured_sd_m = walk.number_where(node, "unmeasured_sd_m", "a number of at least 0", |x| x >= 0.0);
    let source = walk.text(node, "source");
    Some(DepthSettings {
        exponent: exponent?,
        unmeasured_sd_m: unmeasured_sd_m?,
        source: source?,
    })
}

fn read_seasons(walk: &mut Walk, root: &Node) -> Option<Vec<NamedSeason>> {
    let tables = walk.tables(root, "seasons", false);
    let seasons = tables.iter().map(|t| read_season(walk, t)).collect();
    all(seasons)
}

fn read_season(walk: &mut Walk, node: &Node) -> Option<NamedSeason> {
    walk.only(node, &["id", "from", "to", "edge_days", "source"]);
    let id = walk.text(node, "id");
    let from = read_month_day(walk, node, "from");
    let to = read_month_day(walk, node, "to");
    let wanted = "a whole number of days from 0 to 60";
    let edge = walk.number_where(node, "edge_days", wanted, |x| {
        x.fract() == 0.0 && (0.0..=60.0).contains(&x)
    });
    let source = walk.text(node, "source");
    let season = Season::new(from?, to?, edge? as u32)?;
    Some(NamedSeason {
        id: id?,
        season,
        source: source?,
    })
}

fn read_month_day(walk: &mut Walk, node: &Node, key: &str) -> Option<(u32, u32)> {
    let text = walk.text(node, key)?;
    let day = text
        .split_once('-')
        .and_then(|(month, day)| Some((month.parse().ok()?, day.parse().ok()?)))
        .filter(|&day| Season::new(day, day, 0).is_some());
    if day.is_none() {
        let mend = "write the month and the day, such as \"09-01\"";
        walk.fault(
            node.span_of(key),
            format!("`{text}` for `{key}`"),
            "a day of every year as \"MM-DD\"",
            mend,
        );
    }
    day
}

fn read_maturity(walk: &mut Walk, node: &Node) -> Option<Maturity> {
    walk.only(node, &["alpha", "beta", "source"]);
    let alpha = walk.number_where(node, "alpha", "a number above 0", |x| x > 0.0);
    let beta = walk.number_where(node, "beta", "a number above 0", |x| x > 0.0);
    let source = walk.text(node, "source");
    Some(Maturity {
        alpha: alpha?,
        beta: beta?,
        source: source?,
    })
}

fn read_sign(walk: &mut Walk, node: &Node) -> Option<SignNote> {
    walk.only(node, &["sign", "meaning", "source"]);
    let sign = walk.text(node, "sign");
    let meaning = walk.text(node, "meaning");
    let source = walk.text(node, "source");
    Some(SignNote {
        sign: sign?,
        meaning: meaning?,
        source: source?,
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Response, RuleZone, builtin, builtin::builtin_ids};
    use super::*;

    fn faults_of(text: &str) -> Vec<super::super::Fault> {
        match read_species(text, "test", "test.toml") {
            Err(SpeciesError::Faulty { faults, .. }) => faults,
            other => panic!("faults wanted, found {other:?}"),
        }
    }

    #[test]
    fn the_species_that_the_program_carries_are_read_without_a_fault() {
        let ids: Vec<&str> = builtin_ids().collect();
        assert!(
            ids.contains(&"landlocked-chinook") && ids.contains(&"pond-smelt"),
            "{ids:?}"
        );
        assert!(ids.is_sorted());
        for id in ids {
            let species = builtin(id).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(species.id, id);
            assert!(
                species
                    .rules
                    .iter()
                    .all(|r| !r.source.is_empty() && !r.evidence.is_empty())
            );
        }
        let message = builtin("carp").unwrap_err().to_string();
        assert!(
            message.contains("carp") && message.contains("rainbow-trout"),
            "{message}"
        );
    }

    #[test]
    fn what_is_not_known_is_said_and_not_made_up() {
        let smelt = builtin("pond-smelt").unwrap();
        assert!(smelt.temperature.is_none() && smelt.oxygen.is_none() && smelt.limits.is_none());
        assert!(smelt.rules.is_empty() && smelt.suitability(12.0, Some(9.0)).is_none());
        assert_eq!(smelt.not_known.len(), Unknown::ALL.len());
        // A largemouth's oxygen is not known: suitability is that of temperature, whatever the oxygen.
        let bass = builtin("largemouth-bass").unwrap();
        assert_eq!(bass.suitability(27.0, Some(1.0)), Some(1.0));
        let why = bass.why_not_known(Unknown::Oxygen).unwrap();
        assert!(!why.is_empty() && bass.why_not_known(Unknown::Temperature).is_none());
        // Given and not known at once, an unknown part, and an empty reason.
        let text = include_str!("../../config/species/pond-smelt.toml")
            .replace("limits = ", "colour = \"brown\"\nlimits = ")
            .replace("oxygen = \"no figure was found\"", "oxygen = \"\"");
        let faults = faults_of(&format!("{text}\n[limits]\ntemp_max_degc = 20\n"));
        for word in [
            "unknown key `colour`",
            "`limits` as not known, and given",
            "for `oxygen`",
        ] {
            assert!(
                faults.iter().any(|f| f.found.contains(word)),
                "{word}: {faults:?}"
            );
        }
    }

    #[test]
    fn a_rule_keeps_the_parameters_of_its_row() {
        let kings = builtin("landlocked-chinook").unwrap();
        let run = kings.rule("R5a").unwrap();
        assert!(run.mature_only && (run.mean, run.sd) == (1.1, 0.6));
        let Response::Run { season, closes_degc } = &run.response else {
            panic!("{:?}", run.response)
        };
        assert_eq!(
            (season.as_str(), closes_degc.zero_at, closes_degc.one_at),
            ("autumn_run", 13.0, 16.0)
        );
        let best_water = kings.rule("R2").unwrap();
        assert_eq!(
            (
                best_water.factor(RuleZone::Arm),
                best_water.factor(RuleZone::River)
            ),
            (1.0, 0.5)
        );
        assert_eq!(kings.rule("R0").unwrap().factor(RuleZone::River), 0.0);
        assert_eq!(kings.maturity.unwrap().mean_frac(), 0.4);
    }

    #[test]
    fn all_faults_are_reported_at_once_with_their_places() {
        let text = include_str!("../../config/species/rainbow-trout.toml")
            .replace("name = \"rainbow trout\"", "name = \"\"\ncolour = \"silver\"")
            .replace("use = \"lake\"", "use = \"pond\"")
            .replace("[9.25, 0.9]", "[7.25, 0.9]")
            .replace("oxygen_min_mg_l = 2.5", "oxygen_min_mg_l = \"2.5\"")
            .replace("from = \"12-01\"", "from = \"12-32\"")
            .replace("response = \"cold_refuge\"", "response = \"cold_comfort\"")
            .replace("lake_degc = [18, 20]", "lake_degc = [20, 18]")
            .replace("bound = 4", "bound = 4, slack = 1")
            .replace("id = \"R12\"", "id = \"R11\"")
            .replace(
                "season = \"autumn_run\", closes_degc",
                "season = \"fall\", closes_degc",
            );
        let faults = faults_of(&text);
        let shown: Vec<String> = faults.iter().map(|f| f.to_string()).collect();
        let all = shown.join("\n");
        for (word, line_of) in [
            ("unknown key `colour`", "colour ="),
            ("for `name`", "name = \"\""),
            ("`pond`", "use ="),
            ("[7.25, 0.9]", "[7.25, 0.9]"),
            ("oxygen_min_mg_l", "oxygen_min_mg_l ="),
            ("`12-32`", "12-32"),
            ("cold_comfort", "cold_comfort"),
            ("slack", "slack"),
            ("rule `R11` twice", "id = \"R11\""),
            ("`fall`", "\"fall\""),
        ] {
            let found = shown
                .iter()
                .find(|f| f.contains(word))
                .unwrap_or_else(|| panic!("{word}:\n{all}"));
            let line: usize = found.split(':').nth(1).unwrap().parse().unwrap();
            assert!(text.lines().nth(line - 1).unwrap().contains(line_of), "{found}");
        }
        assert!(
            faults
                .windows(2)
                .all(|w| (w[0].line, w[0].column) <= (w[1].line, w[1].column))
        );
    }

    #[test]
    fn a_missing_table_and_broken_toml_are_faults_and_no_panic() {
        let faults = faults_of("name = \"x\"\n");
        for key in ["temperature", "oxygen", "limits", "depth", "rules"] {
            assert!(
                faults
                    .iter()
                    .any(|f| f.found.contains(&format!("no key `{key}`"))),
                "{key}"
            );
        }
        assert!(!faults_of("name = \n[[[").is_empty());
        assert!(!faults_of("rules = 3\ntemperature = [1]\noxygen = \"x\"").is_empty());
    }

    #[test]
    fn a_rule_for_mature_fish_needs_the_mature_share() {
        let text =
            include_str!("../../config/species/landlocked-chinook.toml").replace("[maturity]", "[[signs]]");
        let faults = faults_of(&text);
        assert!(
            faults.iter().any(|f| f.found.contains("no `[maturity]`")),
            "{faults:?}"
        );
    }
}
