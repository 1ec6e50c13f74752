//! Imports point at the ground: each room may use lower rooms only (DEVELOPERS.md, "The house").

use super::source::sources;

/// Rooms and their height. A room may use rooms of a lower height, and itself.
const HEIGHT: [(&str, u32); 23] = [
    ("units.rs", 0),
    ("clock.rs", 0),
    ("quantity.rs", 0),
    ("math", 1),
    ("physics", 2),
    ("lake", 2),
    ("species", 2),
    ("series", 3),
    ("sources", 4),
    ("quality", 4),
    ("conditions", 5),
    ("trips", 5),
    ("column", 6),
    ("whereabouts", 7),
    ("plan", 8),
    ("archive", 8),
    ("notices", 8),
    ("skill", 8),
    ("analysis", 9),
    ("hindcast", 9),
    ("delivery", 9),
    ("reports", 9),
    ("faces", 10),
];

/// Rooms at the top, which may use everything.
const TOP: [&str; 4] = ["cli", "error.rs", "lib.rs", "main.rs"];

fn height(room: &str) -> Option<u32> {
    HEIGHT
        .iter()
        .find(|(name, _)| name.trim_end_matches(".rs") == room.trim_end_matches(".rs"))
        .map(|(_, h)| *h)
}

#[test]
fn every_room_uses_lower_rooms_only() {
    let mut wrong = Vec::new();
    for source in sources("src") {
        let room = source.room().to_owned();
        if TOP.contains(&room.as_str()) {
            continue;
        }
        let own = height(&room).unwrap_or_else(|| panic!("{}: this room is not in the table", source.path));
        for (number, line) in source.program().lines().enumerate() {
            let code = line.split("//").next().unwrap_or("");
            for used in code.split("crate::").skip(1) {
                let used: String = used
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                // `crate::error` is for the top only; a macro or an item of lib.rs has no height.
                let lower = height(&used)
                    .is_some_and(|h| h < own || (h == own && used == room.trim_end_matches(".rs")));
                if !lower {
                    wrong.push(format!(
                        "{}:{}: {room} (height {own}) uses {used}",
                        source.path,
                        number + 1
                    ));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "imports must point at the ground:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn the_network_is_known_to_its_rooms_and_the_top_only() {
    let wrong: Vec<String> = sources("src")
        .into_iter()
        .filter(|s| !matches!(s.room(), "sources" | "cli"))
        .filter(|s| {
            let has = |word: &str| s.program().contains(word);
            has("reqwest::") || has("async fn") || (s.room() != "delivery" && has("lettre::"))
        })
        .map(|s| s.path)
        .collect();
    assert!(wrong.is_empty(), "network or async outside its rooms: {wrong:?}");
}
