//! Species files read: those that the program carries, and faulty ones.

use super::builtin::builtin_ids;
use super::{Response, RuleZone, SpeciesError, Unknown, builtin, read_species};

fn faults_of(text: &str) -> Vec<super::Fault> {
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
