//! Every command and flag that a reader is told of is one that the program has.

use std::collections::BTreeSet;

use super::source::document;
use crate::brief::demo::run;

/// Documents that speak to users.
const FOR_USERS: [&str; 4] = [
    "README.md",
    "docs/lake-file.md",
    "docs/trip-log.md",
    "docs/digest.md",
];
const COMMANDS: [&[&str]; 35] = [
    &["brief"],
    &["pull"],
    &["read"],
    &["hindcast"],
    &["lake"],
    &["lake", "new"],
    &["lake", "check"],
    &["lake", "show"],
    &["lake", "schema"],
    &["log"],
    &["log", "add"],
    &["log", "list"],
    &["log", "show"],
    &["log", "edit"],
    &["log", "remove"],
    &["log", "export"],
    &["log", "import"],
    &["log", "backup"],
    &["digest"],
    &["digest", "readers"],
    &["digest", "readers", "add"],
    &["digest", "readers", "confirm"],
    &["digest", "readers", "remove"],
    &["digest", "readers", "list"],
    &["digest", "readers", "import"],
    &["digest", "readers", "export"],
    &["digest", "send"],
    &["digest", "ledger"],
    &["digest", "ledger", "list"],
    &["digest", "ledger", "resolve"],
    &["digest", "bounces"],
    &["fit"],
    &["skill"],
    &["turnover"],
    &["digest", "preview"],
];

/// What stands in code, in lines that are indented or between backquotes.
fn code(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut fenced = false;
    for line in text.lines() {
        if line.starts_with("```") {
            fenced = !fenced;
        } else if fenced {
            // Samples of output and of lake files are no commands.
        } else if line.starts_with("    ") {
            // A description may follow the command, two blanks off.
            found.push(line.trim().split("  ").next().unwrap_or("").to_owned());
        } else {
            found.extend(line.split('`').skip(1).step_by(2).map(str::to_owned));
        }
    }
    found
}

/// The help of a command.
fn help(command: &[&str]) -> Option<String> {
    let mut arguments = command.to_vec();
    arguments.push("--help");
    let output = run(&arguments);
    (output.status.code() == Some(0)).then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

#[test]
fn every_command_of_the_documents_is_there() {
    let mut told = 0;
    for name in FOR_USERS {
        for snippet in code(&document(name)) {
            let words: Vec<&str> = snippet.split_whitespace().collect();
            let command: Vec<&str> = match &words[..] {
                ["cargo", "run", "--", rest @ ..] | ["plungeline", rest @ ..] => rest
                    .iter()
                    .copied()
                    .take_while(|w| w.chars().all(|c| c.is_ascii_lowercase()))
                    .collect(),
                _ => continue,
            };
            // `lake check FILE`: two words at most are the command.
            let known = COMMANDS.iter().any(|c| command.starts_with(c));
            assert!(
                known && help(&command[..1]).is_some(),
                "{name}: {snippet:?} is no command"
            );
            told += 1;
        }
    }
    assert!(told >= 6, "{told} commands are told of");
    for command in COMMANDS {
        assert!(help(command).is_some(), "{command:?} has no help");
    }
}

#[test]
fn every_flag_of_the_documents_is_there() {
    let flags = |text: &str| -> BTreeSet<String> {
        text.split(|c: char| !(c.is_ascii_lowercase() || c == '-'))
            .filter(|w| w.starts_with("--") && w.len() > 3)
            .map(str::to_owned)
            .collect()
    };
    let known: BTreeSet<String> = COMMANDS
        .iter()
        .filter_map(|c| help(c))
        .flat_map(|h| flags(&h))
        .collect();
    assert!(known.contains("--as-of"), "{known:?}");
    for name in FOR_USERS {
        let told: BTreeSet<String> = code(&document(name)).iter().flat_map(|s| flags(s)).collect();
        let unknown: Vec<&String> = told.difference(&known).collect();
        assert!(unknown.is_empty(), "{name} tells of {unknown:?}");
    }
}

#[test]
fn every_form_of_the_brief_is_told_in_the_readme() {
    let help = help(&["brief"]).expect("help");
    let readme = document("README.md");
    let forms: Vec<&str> = help
        .split("--format <FORMAT>")
        .nth(1)
        .and_then(|rest| rest.split("--units").next())
        .expect("the forms")
        .lines()
        .filter_map(|l| l.trim().strip_prefix("- ")?.split(':').next())
        .collect();
    assert!(forms.len() >= 4, "{forms:?}");
    // Text is the form that the whole README shows.
    for form in forms.into_iter().filter(|f| *f != "text") {
        assert!(readme.contains(&format!("--format {form}")), "{form}");
    }
}
