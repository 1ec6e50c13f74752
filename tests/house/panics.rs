//! No panic on outside bytes: `unwrap` in tests only, `expect` with its reason.

use super::source::sources;

#[test]
fn the_program_holds_no_unwrap_and_no_panic() {
    let mut wrong = Vec::new();
    for source in sources("src").into_iter().filter(|s| !s.is_test()) {
        for (number, line) in source.program().lines().enumerate() {
            let code = line.split("//").next().unwrap_or("");
            for bad in [
                ".unwrap()",
                "panic!(",
                "todo!(",
                "unimplemented!(",
                "unreachable!(",
                "dbg!(",
            ] {
                if code.contains(bad) {
                    wrong.push(format!("{}:{}: {}", source.path, number + 1, line.trim()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_expect_says_why_it_cannot_fail() {
    let mut wrong = Vec::new();
    for source in sources("src").into_iter().filter(|s| !s.is_test()) {
        for (at, _) in source.program().match_indices(".expect(\"") {
            let reason: String = source.program()[at + 9..]
                .chars()
                .take_while(|c| *c != '"')
                .collect();
            if reason.split_whitespace().count() < 4 {
                wrong.push(format!("{}: expect({reason:?})", source.path));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "a reason has at least four words:\n{}",
        wrong.join("\n")
    );
}
