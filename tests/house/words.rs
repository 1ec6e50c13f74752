//! Words that may not stand in what is committed or shown.

use super::source::{root, sources, walk};

#[test]
fn no_committed_text_names_a_path_outside_the_repository() {
    // Put together from halves, so that this file does not hold them.
    let barred = [["../", "shared"].concat(), ["/", "work/"].concat()];
    let mut wrong = Vec::new();
    for folder in [
        "src", "tests", "docs", "config", "fixtures", "examples", "benches",
    ] {
        let folder = root().join(folder);
        if !folder.exists() {
            continue;
        }
        walk(&folder, &mut |path| {
            // Packed bodies are not text.
            let Ok(text) = std::fs::read_to_string(path) else {
                return;
            };
            wrong.extend(
                barred
                    .iter()
                    .filter(|b| text.contains(b.as_str()))
                    .map(|b| format!("{}: {b}", path.display())),
            );
        });
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_face_and_no_caution_says_safe() {
    let mut wrong = Vec::new();
    for source in sources("src")
        .into_iter()
        .filter(|s| matches!(s.room(), "faces" | "plan"))
    {
        for (number, line) in source.program().lines().enumerate() {
            // Only what is inside a text, not comments.
            let code = line.split("//").next().unwrap_or("");
            let texts = code.split('"').skip(1).step_by(2);
            for text in texts {
                let lower = text.to_lowercase();
                if lower
                    .split(|c: char| !c.is_alphabetic())
                    .any(|word| word == "safe" || word == "safely")
                {
                    wrong.push(format!("{}:{}: {text}", source.path, number + 1));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "the program never calls anything safe:\n{}",
        wrong.join("\n")
    );
}
