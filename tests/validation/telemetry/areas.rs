//! Which sections of the recorded lake are main lake, arms and rivers.
//!
//! The sections have habitats and stations, no outlines. Stations give their order from north to south, and three lines of receivers
//! cut the lake: off Coffee Creek (section S17, northing 5504 km), off Mountain Shores (S26, 5484 km), and one station in the
//! narrow mouth of the West Arm (S20). The main lake is the basin between them, where the three limbs meet; what lies north of the
//! first line is the North Arm, below the Lardeau and Duncan Rivers; what lies south of the second is the South Arm, below
//! the Kootenay River. Of the sections every second one holds receivers and is little more than what they hear. A line's own
//! section lies astride the border: it counts as the arm's whose mouth it guards, or, to see what hangs on that, as the main lake's. The West Arm is the lake's outlet: its one section is `Lotic` in the
//! table, but it has the lake's level and is fished from boats, so it is an arm here.

/// Areas, in the order of their numbers.
pub const AREAS: [&str; 5] = ["main", "north", "south", "west", "river"];
/// Number of the main lake.
pub const MAIN: usize = 0;
/// Number of the West Arm.
pub const WEST: usize = 3;
/// Number of the rivers.
pub const RIVER: usize = 4;

/// Names of what is compared.
pub const GROUPS: [&str; 3] = ["main lake", "arms", "rivers"];

/// The areas of each of them.
pub fn groups() -> Vec<Vec<usize>> {
    vec![vec![MAIN], vec![1, 2, WEST], vec![RIVER]]
}

/// Lentic sections by area. S03 and S04 are lakes above the rivers, without receivers and without tagged rainbows: no area.
const LENTIC: [(usize, &[&str]); 3] = [
    (MAIN, &["S18", "S21", "S22", "S23", "S24", "S25"]),
    (
        1,
        &[
            "S07", "S08", "S09", "S10", "S11", "S12", "S13", "S14", "S15", "S16", "S17",
        ],
    ),
    (2, &["S26", "S27", "S28", "S29", "S30", "S31", "S32"]),
];
/// Lotic sections: the West Arm; and the rivers, of which S02 alone, at the spawning ground of Gerrard, has receivers.
const LOTIC: [(usize, &[&str]); 2] = [
    (WEST, &["S20"]),
    (RIVER, &["S01", "S02", "S05", "S06", "S19", "S33"]),
];

/// Sections of the two lines across the lake.
const LINES: [&str; 2] = ["S17", "S26"];

/// To whom the lines across the lake belong.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Lines {
    /// To the arms.
    #[default]
    Arms,
    /// To the main lake.
    Main,
}

/// Area of a section by its name and habitat; `None` where it belongs to none.
pub fn area_of(section: &str, habitat: &str, lines: Lines) -> Option<usize> {
    let table: &[(usize, &[&str])] = match habitat {
        "Lentic" if lines == Lines::Main && LINES.contains(&section) => return Some(MAIN),
        "Lentic" => &LENTIC,
        "Lotic" => &LOTIC,
        _ => return None,
    };
    let row = table.iter().find(|(_, sections)| sections.contains(&section));
    row.map(|(area, _)| *area)
}
