//! Every `f64` field and argument carries its unit, or stands in the glossary's list of pure numbers.

use std::collections::BTreeSet;

use super::source::{Source, document, sources};

/// Unit suffixes inside (docs/glossary.md, "Suffixes").
const INSIDE: &[&str] = &[
    "_m",
    "_m2",
    "_m3",
    "_km",
    "_m_s",
    "_m3s",
    "_degc",
    "_k",
    "_w_m2",
    "_pa",
    "_hpa",
    "_kg_m3",
    "_mg_l",
    "_per_m",
    "_per_day",
    "_h",
    "_s",
    "_deg",
    "_rad",
    "_frac",
    "_prob",
    "_ntu",
    "_days",
    "_m_s2",
    "_years",
    "_degc_per_day",
    "_m_per_day",
    "_n",
    "_kg",
    "_kg_kg",
    "_mg_l_day",
    "_j",
    "_g",
    "_g_kg",
    "_us_cm",
    "_m2_s3",
    "_km2",
    "_per_s2",
    "_g_m2_day",
    "_atm",
];

/// Further suffixes where outside units are read or shown.
const EDGES: &[&str] = &[
    "_ft", "_cfs", "_acre_ft", "_acres", "_mi", "_mph", "_kt", "_degf", "_pct", "_in", "_kmh", "_mm", "_ha",
    "_lb",
];

/// What the glossary's section of this title has between backquotes.
fn listed_under(title: &str) -> BTreeSet<String> {
    let glossary = document("docs/glossary.md");
    let section = glossary
        .split(&format!("\n## {title}\n"))
        .nth(1)
        .unwrap_or_else(|| panic!("docs/glossary.md lacks {title:?}"));
    let section = section.split("\n## ").next().unwrap_or("");
    section.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// Names that need no unit suffix.
fn listed() -> BTreeSet<String> {
    let mut names = listed_under("Pure numbers");
    names.extend(listed_under("Numbers in the unit of their series"));
    names
}

/// Every declaration of a float outside `math` and the tests: file, line, name.
fn floats() -> Vec<(Source, usize, String)> {
    let mut found = Vec::new();
    for source in sources("src")
        .into_iter()
        .filter(|s| s.room() != "math" && !s.is_test())
    {
        for (number, code) in declarations(source.program()) {
            for name in float_names(&code) {
                found.push((source.clone(), number, name));
            }
        }
    }
    found
}

#[test]
fn every_float_carries_its_unit() {
    let pure = listed();
    let mut wrong = BTreeSet::new();
    for (source, number, name) in floats() {
        let edge = matches!(source.room(), "sources" | "faces" | "units.rs" | "cli")
            || source.path.starts_with("src/lake");
        let fits = |suffix: &&&str| name.ends_with(**suffix) || name == suffix.trim_start_matches('_');
        let inside = INSIDE.iter().any(|s| fits(&s));
        let outside = edge && EDGES.iter().any(|s| fits(&s));
        if !inside && !outside && !pure.contains(&name) {
            wrong.insert(format!("{}:{number}: {name}", source.path));
        }
    }
    let wrong: Vec<String> = wrong.into_iter().collect();
    assert!(
        wrong.is_empty(),
        "give these a unit suffix, or list them in docs/glossary.md:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn every_name_that_the_glossary_excuses_is_in_use() {
    let used: BTreeSet<String> = floats().into_iter().map(|(_, _, name)| name).collect();
    let idle: Vec<String> = listed().difference(&used).cloned().collect();
    assert!(
        idle.is_empty(),
        "take these off the lists of docs/glossary.md: {idle:?}"
    );
}

#[test]
fn the_glossary_has_the_suffixes_that_these_tests_know() {
    let known: BTreeSet<String> = INSIDE.iter().chain(EDGES).map(|s| (*s).to_owned()).collect();
    assert_eq!(listed_under("Suffixes"), known);
}

/// Lines that declare fields and arguments, with their numbers: what stands inside `struct`, `enum` and
/// `const` items and between `fn` and its body. Bodies themselves are left out.
fn declarations(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut in_signature = false;
    let mut in_item = false;
    for (number, line) in text.lines().enumerate() {
        let code = line.split("//").next().unwrap_or("").trim_end().to_owned();
        let start = code
            .trim_start()
            .trim_start_matches("pub(super) ")
            .trim_start_matches("pub(crate) ");
        let start = start
            .trim_start_matches("pub ")
            .trim_start_matches("const ")
            .trim_start_matches("async ");
        if start.starts_with("fn ") {
            in_signature = true;
        } else if start.starts_with("struct ") || start.starts_with("enum ") {
            in_item = code.ends_with('{');
        }
        if in_signature || in_item || start.starts_with("struct ") {
            found.push((number + 1, code.clone()));
        }
        if in_signature && (code.ends_with('{') || code.ends_with(';') || code.ends_with('}')) {
            in_signature = false;
        }
        if in_item && line == "}" {
            in_item = false;
        }
    }
    found
}

/// Names of fields and arguments of a line declared `f64`, `&[f64]`, `Option<f64>` and the like.
fn float_names(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in code.match_indices(": ") {
        let kind: String = code[at + 2..]
            .chars()
            .take_while(|c| !",);{=".contains(*c))
            .collect();
        let kind = kind.trim();
        let float = matches!(
            kind,
            "f64" | "Option<f64>" | "&[f64]" | "Vec<f64>" | "&mut [f64]" | "Option<&[f64]>" | "&f64"
        );
        if !float {
            continue;
        }
        let name: String = code[..at]
            .chars()
            .rev()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect();
        let name: String = name.chars().rev().collect();
        if !name.is_empty() && !name.chars().next().is_some_and(|c| c.is_uppercase()) {
            names.push(name);
        }
    }
    names
}

#[test]
fn the_reader_of_declarations_finds_floats() {
    assert_eq!(float_names("    pub depth_m: Option<f64>,"), ["depth_m"]);
    assert_eq!(
        float_names("fn f(a_m: f64, b: &[f64], c: u32) -> f64 {"),
        ["a_m", "b"]
    );
    assert!(float_names("let x: u8 = 3;").is_empty());
}
