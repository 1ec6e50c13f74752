//! The table of rules in docs/methods.md is made from the species files.

use plungeline::species::{RuleRow, RuleZone, Species, builtin, builtin_ids};

use super::source::{document, root};

const BEGIN: &str = "<!-- rules: made from config/species, do not edit -->\n";
const END: &str = "<!-- end of rules -->\n";

/// Text in a cell: no bar, no line end.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

fn zones(row: &RuleRow) -> String {
    let word = |zone: &RuleZone| match zone {
        RuleZone::Arm => "arms".to_owned(),
        RuleZone::River if row.river_factor == 1.0 => "rivers".to_owned(),
        RuleZone::River => format!("rivers at {} of it", row.river_factor),
    };
    row.zones.iter().map(word).collect::<Vec<_>>().join(", ")
}

/// One section a species: rules, then terms of catchability.
fn section(species: &Species) -> String {
    let mut text = format!("\n### {}\n\n", species.name);
    for (part, why) in &species.not_known {
        text.push_str(&format!("Not known, {}: {}.\n\n", part.key(), cell(why)));
    }
    if species.rules.is_empty() {
        return text;
    }
    text.push_str("| rule | what | mean, sd | where | evidence | source |\n|---|---|---|---|---|---|\n");
    for row in &species.rules {
        let mature = if row.mature_only { "; mature fish only" } else { "" };
        text.push_str(&format!(
            "| {} | {} | {}, {} | {}{mature} | {} | {} |\n",
            row.id,
            cell(&row.label),
            row.mean,
            row.sd,
            zones(row),
            cell(&row.evidence),
            cell(&row.source)
        ));
    }
    if species.catchability.is_empty() {
        return text;
    }
    text.push_str(
        "\nCatch per hour where the fish are (logarithm; never part of a share):\n\n\
         | term | what | mean, sd | evidence | source |\n|---|---|---|---|---|\n",
    );
    for row in &species.catchability {
        text.push_str(&format!(
            "| {} | {} | {}, {} | {} | {} |\n",
            row.id,
            cell(&row.label),
            row.mean,
            row.sd,
            cell(&row.evidence),
            cell(&row.source)
        ));
    }
    text
}

#[test]
fn the_table_of_rules_in_the_methods_is_that_of_the_species_files() {
    let sections: String = builtin_ids()
        .map(|id| section(&builtin(id).expect("a species of the program")))
        .collect();
    let wanted = format!("{BEGIN}{sections}\n{END}");
    let methods = document("docs/methods.md");
    let (before, rest) = methods.split_once(BEGIN).expect("the mark where the rules begin");
    let (_, after) = rest.split_once(END).expect("the mark where they end");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join("docs/methods.md"), format!("{before}{wanted}{after}")).expect("writable");
        return;
    }
    assert!(
        methods.contains(&wanted),
        "docs/methods.md differs from config/species; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}
