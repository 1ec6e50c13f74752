//! Notices of the lake file that cannot be: each fault at its line, with the way to mend it.

use super::lake_file::{Case, check, faults, harrow_gap};

#[rustfmt::skip]
const NOTICES: &[Case] = &[
    ("kind = \"pulse\"", "kind = \"flood\"", "kind = \"flood\"", "flood", "take one of turnover, ramp-out"),
    ("id = \"sorrel-pulse\"", "id = \"kings-shallow\"", "head:kind = \"depth\"", "a second entry \"kings-shallow\"", "id of its own"),
    ("inflow = \"sorrel\"\nat_least_ratio", "inflow = \"sorel\"\nat_least_ratio", "inflow = \"sorel\"", "sorel", "\"sorrel\""),
    ("inflow = \"sorrel\"\nat_least_ratio", "at_least_ratio", "head:id = \"sorrel-pulse\"", "without inflow", "inflow = \"sorrel\""),
    ("inflow = \"sorrel\"\nat_least_ratio", "inflow = \"sorrel\"\nzone = \"sorrel\" #x\nat_least_ratio", "zone = \"sorrel\" #x", "zone here", "remove zone"),
    ("at_least_ratio = 1.5", "at_least_ratio = 1.0", "at_least_ratio = 1.0", "at_least_ratio = 1.0", "check the number"),
    ("at_least_ratio = 1.5", "at_least_ratio = 1.5\nmargin_ratio = 0.5", "margin_ratio = 0.5", "margin_ratio", "never again"),
    ("ramp = \"dam-road\" ", "ramp = \"dam-rod\" ", "ramp = \"dam-rod\"", "dam-rod", "\"dam-road\""),
    ("within_days = 10 ", "within_days = 20 ", "within_days = 20", "within_days = 20", "15 or less"),
    ("within_days = 10 ", "within_days = 0 ", "within_days = 0", "within_days = 0", "10"),
    ("at_least_prob = 0.5 ", "at_least_prob = 50.0 ", "at_least_prob = 50", "at_least_prob = 50", "check the number"),
    ("at_least_prob = 0.5 ", "at_least_prob = 0.5\nmargin_prob = 0.5 ", "margin_prob = 0.5", "margin_prob", "make it smaller"),
    ("species = \"landlocked-chinook\"\nat_most", "species = \"kokanee\" #x\nat_most", "species = \"kokanee\" #x", "kokanee", "landlocked-chinook"),
    ("at_most_depth_ft = 40.0", "at_most_depth_ft = 40.0\nat_most_depth_m = 12.0", "at_most_depth_m = 12.0", "both at_most_depth_ft and at_most_depth_m", "remove"),
    ("at_most_depth_ft = 40.0", "at_most_depth_ft = 40.0\nat_least_depth_ft = 60.0", "at_most_depth_ft = 40.0", "at_most_depth_ft here", "remove"),
    ("at_most_depth_ft = 40.0", "", "head:id = \"kings-shallow\"", "without at_least_depth_ft", "at_least_depth_ft"),
    ("rearm_days = 2.0", "rearm_days = -2.0", "rearm_days = -2.0", "rearm_days", "check the number"),
    ("at_most_temp_degf = 60.0", "at_most_temp = 60.0", "at_most_temp = 60.0", "unknown key", "\"at_most_temp_degf\" or \"at_most_temp_degc\""),
    ("at_most_temp_degf = 60.0", "at_most_temp_degc = 60.0", "at_most_temp_degc = 60.0", "at_most_temp_degc", "unit"),
    ("at_most_temp_degf = 60.0", "at_most_temp_degf = 60.0\nzone = \"sorrel-river\" #x", "zone = \"sorrel-river\" #x", "a river", "flows into"),
    ("kind = \"surface-temp\" ", "kind = \"level\"\nat_most_elevation_ft = 900.0 #x", "at_most_elevation_ft = 900.0 #x", "above the full pool", "check"),
    ("note = \"the shallow rigs\"", "note = \" \"", "note = \" \"", "note", "rigs"),
];

#[test]
fn a_notice_that_cannot_be_is_one_fault_at_its_place() {
    // The level in place of a temperature has that temperature's keys left over: taken out of it first.
    let (level, rest): (Vec<Case>, Vec<Case>) = NOTICES
        .iter()
        .partition(|case| case.1.contains("kind = \"level\""));
    check(&rest);
    for (from, to, line, found, mend) in level {
        let without = harrow_gap().replacen("at_most_temp_degf = 60.0", "# ", 1);
        let list = faults(&without.replacen(from, to, 1));
        let [fault] = &list[..] else { panic!("{list:?}") };
        assert!(
            fault.found.contains(found) && fault.mend.contains(mend),
            "{line}: {fault:?}"
        );
    }
}
