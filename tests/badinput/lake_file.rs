//! Faulty lake files: every fault once, all at once, with its place and the way to mend it.

use std::path::Path;

use plungeline::faces::faults::render_faults;
use plungeline::lake::{Fault, LakeError, read_lake, read_lake_bytes, read_lake_file};

use plungeline::sources::service_rules;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub(super) fn harrow_gap() -> String {
    std::fs::read_to_string(root().join("config/lakes/harrow-gap.toml"))
        .expect("the demonstration lake is committed")
}

pub(super) fn faults(text: &str) -> Vec<Fault> {
    read_lake(text, Path::new("lake.toml"), &service_rules())
        .err()
        .unwrap_or_default()
}

#[test]
fn the_demonstration_lake_has_no_fault() {
    let found = faults(&harrow_gap());
    assert!(found.is_empty(), "{}", render_faults(&found));
}

/// A change of the demonstration lake that makes exactly one fault: text of the file (its first place),
/// what stands there instead, the line of the fault (part of it; after `head:`, part of the line that
/// follows it, since what a block lacks is noted at its header), part of what was found, part of how to
/// mend it.
pub(super) type Case = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
);

#[rustfmt::skip]
const KEYS: &[Case] = &[
    ("latitude = 42.20", "latitude = 142.20", "latitude =", "latitude = 142.2", "check the number"),
    ("[hypsography]", "[turnover]\nfrom = \"13-01\"\nuntil = \"02-29\"\n\n[hypsography]", "from = \"13-01\"", "13-01", "MM-DD"),
    ("[hypsography]", "[turnover]\nfrom = \"07-01\"\n\n[hypsography]", "head:from = \"07-01\"", "without until", "02-29"),
    ("latitude = 42.20", "latitude = nan", "latitude =", "latitude = nan", "42.20"),
    ("longitude = -119.60", "longitude = -inf", "longitude =", "longitude = -inf", "-119.60"),
    ("longitude = -119.60", "longitude = \"W\"", "longitude =", "longitude = \"W\"", "-119.60"),
    ("America/Los_Angeles\" ", "America/Los_Angelos\"", "time_zone =", "Angelos", "America/Los_Angeles"),
    ("America/Los_Angeles\" ", "lake time\"", "time_zone =", "lake time", "America/Los_Angeles"),
    ("toe_elevation_ft = 753.0", "toe_elevaton_ft = 753.0", "toe_elevaton_ft", "unknown key", "\"toe_elevation_ft\""),
    ("toe_elevation_ft = 753.0", "toe_elevation = 753.0", "toe_elevation = 753", "unknown key", "\"toe_elevation_ft\" or \"toe_elevation_m\""),
    ("toe_elevation_ft = 753.0", "toe_elevation_ft = \"753\"", "\"753\"", "\"753\"", "753"),
    ("toe_elevation_ft = 753.0", "", "head:id = \"dam-road\"", "without toe_elevation_ft", "lower end of the concrete"),
    ("toe_elevation_ft = 753.0", "toe_elevation_ft = 753.0\ntoe_elevation_m = 229.5", "toe_elevation_m", "both toe_elevation_ft and toe_elevation_m", "remove"),
    ("vertical_datum = \"NAVD 88\"", "vertical_datum = \" \"", "vertical_datum =", "vertical_datum", "NAVD 88"),
    ("vertical_datum = \"NAVD 88\"", "", "#:schema", "without vertical_datum", "vertical_datum = \"NAVD 88\""),
    ("id = \"harrow-gap\"", "id = \"Harrow Gap\"", "id = \"Harrow Gap\"", "Harrow Gap", "harrow-gap"),
    ("name = \"Main Body\"", "name = \"Main Body\"\nparking = true", "parking", "unknown key \"parking\"", "remove it"),
    ("structure = \"channel\" ", "outline = [[42.25, -119.57], [42.26, -119.56]]\nstructure = \"channel\" ", "outline = [[42.25", "outline = [", "[[42.25, -119.57]"),
    ("structure = \"channel\" ", "outline = [[42.25, -119.57], [42.25, -119.56], [42.26, -119.57], [42.26, -119.56]]\nstructure = \"channel\" ", "outline = [[42.25", "crosses itself", "round the water"),
    ("structure = \"channel\" ", "outline = [[42.25, -119.57], [42.25, -119.56], [52.26, -119.57]]\nstructure = \"channel\" ", "outline = [[42.25", "outside any zone", "order and signs"),
    ("kind = \"rock\"", "kind = \"reef\"", "kind = \"reef\"", "kind = \"reef\"", "rock, stumps, saddle"),
    ("date = 2025-03-18", "date = \"2025-03-18\"", "date = \"2025-03-18\"", "date =", "2025-03-18"),
    ("regulated = false", "regulated = \"no\"", "regulated = \"no\"", "regulated", "false"),
    ("lanes = 1 }", "lanes = 1.5 }", "lanes = 1.5", "lanes = 1.5", "2"),
    ("count = 8000", "count = 0", "count = 0", "count = 0", "8000"),
    ("position = [42.2040, -119.6060]", "position = [42.2040]", "position = [42.2040]", "position", "[42.2040, -119.6060]"),
    ("algae = \"https://example.org/harrow-gap/algae\"", "algae = \"example.org\"", "algae =", "algae = \"example.org\"", "browser"),
    ("width_ft = 3500.0, position = [42.2132, -119.5918]", "width_ft = 3500.0", "thalweg = [", "6 of 7 rows", "take those that there are out"),
    ("trip_h = 6.0", "trip_h = 60.0", "trip_h =", "trip_h = 60.0", "hours"),
    ("10.0]  # Secchi", "10.0, 9.0]  # Secchi", "secchi_ft = [9", "13 values", "each month"),
    ("secchi_ft = [9.0, 7.0", "secchi_ft = [9.0, 0.0", "secchi_ft = [9", "secchi_ft = 0.0", "Secchi"),
    ("[boat]", "[[boat]]", "[[boat]]", "boat =", "boat"),
];

#[rustfmt::skip]
const SHAPE: &[Case] = &[
    ("minimum_pool_elevation_ft = 731.0", "minimum_pool_elevation_ft = 850.0", "minimum_pool_elevation_ft = 850", "a minimum pool at 850 ft", "datum"),
    ("minimum_pool_elevation_ft = 731.0", "minimum_pool_elevation_ft = 631.0", "elevation_ft = 631.0, area", "begins at 631 ft", "deepest bed"),
    ("full_pool_elevation_ft = 845.0", "full_pool_elevation_ft = 855.0", "elevation_ft = 852.0, area", "ends at 852 ft", "up to the full pool"),
    ("area_acres = 422.0", "area_acres = 142.0", "area_acres = 142.0", "shrinks with elevation", "never has less surface"),
    ("elevation_ft = 680.0, area", "elevation_ft = 650.0, area", "elevation_ft = 650.0", "elevation 650 ft", "lowest first"),
    ("elevation_ft = 680.0, share_frac = 0.72", "elevation_ft = 680.0, share_frac = 0.62", "share_frac = 0.62 ", "add up to 0.9 at 680 ft", "correct the shares"),
    ("{ elevation_ft = 680.0, share_frac = 0.72 },\n  { elevation_ft = 700.0, share_frac = 0.63 },", "{ elevation_ft = 700.0, share_frac = 0.63 },\n  { elevation_ft = 680.0, share_frac = 0.72 },", "share_frac = 0.72", "does not grow", "in order"),
    ("share_frac = 0.72 }", "share_frac = 95.0 }", "share_frac = 95.0", "share_frac = 95.0", "0 to 1"),
    ("kind = \"arm\"", "kind = \"main-body\"", "head:id = \"sorrel\"", "a second main body", "arm"),
    ("id = \"wicket-creek\"", "id = \"sorrel-river\" #x", "id = \"sorrel-river\" #x", "a second entry \"sorrel-river\"", "id of its own"),
    ("distance_mi = 0.0, bed_elevation_ft = 655.0", "distance_mi = 0.1, bed_elevation_ft = 655.0", "distance_mi = 0.1", "begins at", "mouth"),
    ("distance_mi = 1.5,", "distance_mi = 4.0,", "distance_mi = 3.0, bed_elevation_ft = 722", "does not grow", "in order"),
    ("bed_elevation_ft = 844.0", "bed_elevation_ft = 864.0", "bed_elevation_ft = 864.0", "above the full pool", "check"),
    ("bed_elevation_ft = 638.0", "bed_elevation_ft = 538.0", "bed_elevation_ft = 538.0", "538 ft", "deepest bed"),
    ("direction_deg = 90.0, fetch_mi = 1.1", "direction_deg = 40.0, fetch_mi = 1.1", "direction_deg = 40.0", "does not grow", "in order"),
    ("above = \"wicket\"", "above = \"sorrel-river\"", "above = \"sorrel-river\"", "a river", "flows into"),
    ("above = \"wicket\"", "", "head:id = \"wicket-creek\"", "without above", "flows into"),
    ("orientation_deg = 50.0", "orientation_deg = 50.0\nabove = \"main\"", "above = \"main\"", "above here", "remove"),
    ("above = \"wicket\"", "above = \"wicket\"\norientation_deg = 10.0", "orientation_deg = 10.0", "orientation_deg here", "remove"),
    ("demand_mg_l_per_day: oxygen", "\ndemand_mg_l_per_day = 0.1 # oxygen", "demand_mg_l_per_day = 0.1", "demand_mg_l_per_day here", "remove"),
    ("trophic_state = \"mesotrophic\"", "", "[oxygen]", "without trophic_state", "mesotrophic"),
    ("[clarity]\n", "[clarity]\nextinction_per_m = [1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1]\n", "extinction_per_m = [", "extinction_per_m here", "remove"),
];

#[rustfmt::skip]
const PLACES: &[Case] = &[
    ("toe_elevation_ft = 753.0", "toe_elevation_ft = 600.0", "toe_elevation_ft = 600.0", "600 ft", "hypsography"),
    ("elevation_ft = 756.0, lanes", "elevation_ft = 750.0, lanes", "elevation_ft = 750.0, lanes", "open at 750 ft", "below the toe"),
    ("elevation_ft = 800.0, lanes = 4", "elevation_ft = 860.0, lanes = 4", "elevation_ft = 860.0, lanes", "above the full pool", "check"),
    ("elevation_ft = 800.0, lanes = 4", "elevation_ft = 800.0, lanes = 2", "elevation_ft = 800.0, lanes = 2", "lanes = 2", "where a lane opens"),
    ("elevation_ft = 668.0", "elevation_ft = 868.0", "elevation_ft = 868.0", "an outlet at 868 ft", "check"),
    ("top_elevation_ft = 792.0", "top_elevation_ft = 892.0", "top_elevation_ft = 892.0", "892 ft", "check"),
    ("bed_elevation_ft = 797.0", "bed_elevation_ft = 897.0", "bed_elevation_ft = 897.0", "897 ft", "check"),
    ("structure = \"channel\"", "structure = \"hole\"", "structure = \"hole\"", "hole", "channel"),
    ("[42.2936, -119.5332]", "[-42.2936, -119.5332]", "[-42.2936", "outside any zone", "signs"),
    ("[42.2040, -119.6060]", "[42.2040, 119.6060]", "[42.2040, 119", "outside any zone", "signs"),
    ("[[42.2936, -119.5332], ", "[[142.2936, -119.5332], ", "[[142.2936", "line =", "[[42.2936"),
    ("zone = \"sorrel\"", "zone = \"sorel\"", "zone = \"sorel\"", "sorel", "\"sorrel\""),
    ("zone = \"sorrel\"", "zone = \"sorrel-river\"", "zone = \"sorrel-river\"", "a river", "flows into"),
    ("id = \"sorrel-bridge\"", "id = \"dam-road\" #x", "id = \"dam-road\" #x", "a second entry \"dam-road\"", "id of its own"),
];

#[rustfmt::skip]
const INFLOWS_AND_FISH: &[Case] = &[
    ("enters = \"wicket\"", "enters = \"main\"", "id = \"wicket\"", "arm \"wicket\" without an inflow", "enters = \"wicket\""),
    ("above = \"wicket\"", "above = \"main\"", "id = \"wicket-creek\"", "river \"wicket-creek\" without an inflow", "enters = \"main\""),
    ("inflow = \"sorrel\" ", "inflow = \"sorel\" #", "inflow = \"sorel\"", "sorel", "\"sorrel\""),
    ("inflow = \"sorrel\" ", "inflow = \"wicket\" #", "inflow = \"wicket\" #", "which enters \"wicket\"", "correct inflow"),
    ("orientation_deg = 50.0", "orientation_deg = 50.0\ninflow = \"sorrel\"", "inflow = \"sorrel\"", "inflow here", "remove"),
    ("enters = \"sorrel\"", "enters = \"sorrell\"", "enters = \"sorrell\"", "sorrell", "\"sorrel\""),
    ("enters = \"wicket\"\nflow = \"series\"", "enters = \"wicket\"\nflow = { gauge = \"wicket\", factor = 0.2 }", "gauge = \"wicket\", factor", "no series itself", "flow = \"series\""),
    ("enters = \"wicket\"\nflow = \"series\"", "enters = \"wicket\"\nflow = { gauge = \"sorel\", factor = 0.2 }", "gauge = \"sorel\"", "sorel", "\"sorrel\""),
    ("enters = \"wicket\"\nflow = \"series\"", "enters = \"wicket\"\nflow = { gauge = \"sorrel\", factor = -0.2 }", "factor = -0.2", "factor = -0.2", "check"),
    ("enters = \"wicket\"\nflow = \"series\"", "enters = \"wicket\"\nflow = \"guess\"", "flow = \"guess\"", "guess", "gauge"),
    ("species = \"landlocked-chinook\"\ndate", "species = \"kokanee\"\ndate", "species = \"kokanee\"", "kokanee", "rainbow-trout"),
    ("species = [\"landlocked-chinook\"]", "species = [\"landlocked-chinok\"]", "landlocked-chinok\"", "chinok", "landlocked-chinook"),
    ("species = [\"landlocked-chinook\"]", "species = []", "species = []", "empty list", "rainbow-trout"),
    ("speed_max_mph = 2.2", "speed_max_mph = 1.2", "speed_max_mph = 1.2", "fast end of 1.2 mph", "swap"),
];

const OF_SORREL: &str = "service = \"usgs-ogc\"\nstation = \"USGS-990000030\"\nparameter = \"00060\"\nstatistic = \"00003\"\ncadences = [\"daily\", \"continuous\"]\ndaily_from = 2012-01-01\n";
const OF_VISIBILITY: &str = "service = \"open-meteo\"\nparameter = \"visibility\"\ncadences = [\"forecast\"]";

#[rustfmt::skip]
const SERIES: &[Case] = &[
    ("datum_offset_ft = 3.42 ", "#", "head:id = \"pool\"", "without datum_offset_ft", "lake's datum"),
    ("datum_source = \"NGVD", "# \"NGVD", "head:id = \"pool\"", "without datum_source", "offset comes from"),
    ("quantity = \"storage\"", "quantity = \"storage\"\ndatum_offset_ft = 1.0", "datum_offset_ft = 1.0", "datum_offset_ft here", "remove"),
    ("service = \"open-meteo\"", "service = \"open-meteor\"", "service = \"open-meteor\"", "open-meteor", "\"open-meteo\""),
    ("quantity = \"storage\"", "quantity = \"storrage\"", "quantity = \"storrage\"", "storrage", "\"storage\""),
    ("quantity = \"storage\"\n", "", "head:id = \"storage\"", "without quantity", "what it measures"),
    ("parameter = \"63680\"", "parameter = \"00060\" #x", "parameter = \"00060\" #x", "00060", "inflow"),
    ("parameter = \"00054\"", "parameter = \"62614\" #x", "parameter = \"62614\" #x", "62614", "pool_elevation"),
    ("parameter = \"visibility\"", "", "head:id = \"visibility\"", "without parameter", "name or code"),
    ("parameter = \"00054\"\nstatistic = \"00003\"", "parameter = \"00054\"", "head:id = \"storage\"", "without statistic", "00003"),
    ("station = \"USGS-990000020\"", "", "head:id = \"release\"", "without station", "stations"),
    ("cadences = [\"forecast\"]", "cadences = [\"hourly\"]", "[\"hourly\"]", "hourly", "daily, continuous, forecast"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\", \"forecast\"]", "[\"forecast\", \"forecast\"]", "forecast", "daily"),
    ("statistic = \"00003\"\ncadences = [\"daily\"]", "statistic = \"00003\"\ncadences = [\"daily\", \"forecast\"] #x", "\"forecast\"] #x", "cadence \"forecast\"", "daily, continuous"),
    ("statistic = \"00003\"\ncadences = [\"daily\"]\ndaily_from = 2012-01-01", "statistic = \"00003\"\ncadences = [\"daily\"]", "head:id = \"storage\"", "without daily_from", "first day"),
    ("daily_until = 2021-12-31", "daily_until = 1921-12-31", "daily_until = 1921-12-31", "1921-12-31", "swap"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\ndaily_from = 2012-01-01 #x", "daily_from = 2012-01-01 #x", "daily_from here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\ncontinuous_from = 2012-01-01", "continuous_from = 2012-01-01", "continuous_from here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\nstation = \"X\"", "station = \"X\"", "station here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\nunit = \"m\"", "unit = \"m\"", "unit here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\nstatistic = \"00003\" #x", "statistic = \"00003\" #x", "statistic here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\nzone = \"main\" #x", "zone = \"main\" #x", "zone here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\ndepth_m = 1.0 #x", "depth_m = 1.0 #x", "depth_m here", "remove"),
    ("cadences = [\"forecast\"]", "cadences = [\"forecast\"]\ncsv = { path = \"a\", time = \"b\", value = \"c\", stamp_zone = \"UTC\" }", "csv = {", "csv here", "remove"),
    ("quantity = \"storage\"", "quantity = \"storage\"\nensemble_model = \"x\"", "ensemble_model = \"x\"", "ensemble_model here", "remove"),
    ("unit = \"acre-ft/day\" ", "#", "head:id = \"evaporation\"", "without unit", "unit of a CSV column"),
    ("depth_m = 1.0 ", "#", "head:id = \"surface\"", "without depth_ft", "below the surface"),
    ("zone = \"main\"                           # the zone where", "#", "head:id = \"surface\"", "without zone", "zone where"),
    ("inflow = \"sorrel\"\nservice = \"usgs-ogc\"\nstation = \"USGS-990000030\"\nparameter = \"00010\"", "service = \"usgs-ogc\"\nstation = \"USGS-990000030\"\nparameter = \"00010\"", "head:id = \"sorrel-temp\"", "without inflow", "inflow where"),
    ("stamp_zone = \"-08:00\"", "stamp_zone = \"PDQ\"", "stamp_zone = \"PDQ\"", "PDQ", "zone"),
    ("missing = [\"\", \"---\"]", "missing = [\"\", 9]", "missing = [\"\", 9]", "missing", "---"),
    ("path = \"../../fixtures", "pth = \"../../fixtures", "pth =", "unknown key \"pth\"", "\"path\""),
    ("service = \"open-meteo\"\nparameter = \"visibility\"", "service = \"nws\"\nstation = \"KBOI\" #x\nparameter = \"visibility\"", "\"KBOI\" #x", "station here", "remove"),
    (OF_VISIBILITY, "service = \"nws\"\nparameter = \"visibility\"\ncadences = [\"forecast\", \"continuous\"]", "head:id = \"visibility\"", "without station", "station"),
    (OF_VISIBILITY, "service = \"nws\"\nparameter = \"visibility\"\nstation = \"kboi/x\"\ncadences = [\"continuous\"]", "station = \"kboi/x\"", "kboi/x", "capital letters and digits"),
    (OF_VISIBILITY, "service = \"nws\"\nparameter = \"Visibility\"\ncadences = [\"forecast\"]", "parameter = \"Visibility\"", "Visibility", "docs/lake-file.md"),
    (OF_VISIBILITY, "service = \"nws\"\nparameter = \"windSpeed\"\ncadences = [\"forecast\"]", "parameter = \"windSpeed\"", "windSpeed", "wind_speed"),
    (OF_VISIBILITY, "service = \"nws\"\nparameter = \"visibility\"\ncadences = [\"daily\"] #x\ndaily_from = 2012-01-01", "cadences = [\"daily\"] #x", "cadence \"daily\"", "continuous, forecast"),
    ("service = \"open-meteo\"\nparameter = \"cloud_cover\"\nensemble_model = \"gfs_seamless\"\ncadences = [\"daily\", \"continuous\", \"forecast\"]\ndaily_from = 1985-01-01\ndaily_until = 2021-12-31\n", "service = \"nws\"\nparameter = \"skyCover\"\nstation = \"KBOI\"\ncadences = [\"continuous\"]\n", "parameter = \"skyCover\"", "at cadence continuous", "one of temperature, dewpoint"),
    (OF_SORREL, "service = \"cdec\"\nstation = \"xhg\" #x\nparameter = \"20\"\ncadences = [\"continuous\"]\n", "station = \"xhg\"", "xhg", "three capital letters"),
    (OF_SORREL, "service = \"cdec\"\nstation = \"XHG\"\nparameter = \"15/E\"\ncadences = [\"continuous\"]\n", "parameter = \"15/E\"", "15/E", "storage"),
    (OF_SORREL, "service = \"cdec\"\nstation = \"XHG\"\nparameter = \"20/D\"\ncadences = [\"continuous\"]\n", "parameter = \"20/D\"", "at cadence continuous", "20/H, 20/E"),
    (OF_SORREL, "service = \"cdec\"\nparameter = \"20\"\ncadences = [\"continuous\"]\n", "head:id = \"sorrel-flow\"", "without station", "station"),
    (OF_SORREL, "service = \"nwps\"\nstation = \"SRLX9/x\"\nparameter = \"flow\"\ncadences = [\"forecast\"]\n", "SRLX9/x", "SRLX9/x", "five capital letters"),
    (OF_SORREL, "service = \"nwps\"\nstation = \"SRLX9\"\nparameter = \"stage\"\ncadences = [\"continuous\"]\n", "parameter = \"stage\"", "stage", "pool_elevation"),
    (OF_SORREL, "service = \"nwps\"\nstation = \"SRLX9\"\nparameter = \"flow\"\ncadences = [\"daily\"] #x\ndaily_from = 2012-01-01\n", "[\"daily\"] #x", "cadence \"daily\"", "continuous, forecast"),
    ("service = \"nws\" ", "service = \"open-meteo\" #x", "service = \"open-meteo\" #x", "open-meteo", "nws"),
    ("service = \"nws\" ", "#", "head:# the service: the National", "without service", "nws"),
    ("contact = \"angler@example.org\"", "", "#:schema", "without contact", "contact = "),
    ("id = \"storage\"", "id = \"pool\" #x", "id = \"pool\" #x", "a second entry \"pool\"", "id of its own"),
];

/// Each case is one fault at its place.
pub(super) fn check(cases: &[Case]) {
    let sound = harrow_gap();
    for (from, to, line, found, mend) in cases {
        assert!(
            sound.contains(from),
            "the demonstration lake does not contain {from:?}"
        );
        let text = sound.replacen(from, to, 1);
        let list = faults(&text);
        let shown = render_faults(&list);
        let [fault] = &list[..] else {
            panic!("{from:?} -> {to:?}: one fault wanted\n{shown}")
        };
        let (part, back) = line.strip_prefix("head:").map_or((*line, 0), |part| (part, 1));
        let at = text
            .lines()
            .position(|l| l.contains(part))
            .unwrap_or_else(|| panic!("no line {part:?}"));
        assert_eq!(fault.line, at + 1 - back, "{from:?} -> {to:?}\n{shown}");
        assert!(fault.found.contains(found), "{found:?} is not found in\n{shown}");
        assert!(fault.mend.contains(mend), "{mend:?} does not mend in\n{shown}");
    }
}

#[test]
fn a_key_that_is_wrong_by_itself_is_one_fault_at_its_place() {
    check(KEYS);
}

#[test]
fn what_the_shape_of_the_lake_contradicts_is_one_fault_at_its_place() {
    check(SHAPE);
}

#[test]
fn what_places_contradict_is_one_fault_at_its_place() {
    check(PLACES);
}

#[test]
fn inflows_and_fish_that_contradict_are_one_fault_at_their_place() {
    check(INFLOWS_AND_FISH);
}

#[test]
fn a_series_that_cannot_be_fetched_is_one_fault_at_its_place() {
    check(SERIES);
}

#[test]
fn a_toe_above_the_full_pool_is_noted_with_the_lanes_that_open_below_it() {
    let text = harrow_gap().replacen("toe_elevation_ft = 807.0", "toe_elevation_ft = 870.0", 1);
    let list = faults(&text);
    assert_eq!(list.len(), 2, "{}", render_faults(&list));
    assert!(
        list[0]
            .found
            .contains("a ramp toe at 870 ft (265.18 m), above the full pool"),
        "{}",
        list[0].found
    );
    assert!(
        list[1].found.contains("lanes that open at 810 ft"),
        "{}",
        list[1].found
    );
}

#[test]
fn a_lake_without_a_main_body_says_so() {
    let list = faults(&harrow_gap().replacen("kind = \"main-body\"", "kind = \"arm\"", 1));
    assert!(
        list.iter().any(|f| f.found == "zones without a main body"),
        "{}",
        render_faults(&list)
    );
}

#[test]
fn of_several_rivers_above_one_zone_each_says_which_inflow_it_is() {
    let both_above_sorrel = |wicket_creek: &str| {
        let text = harrow_gap().replacen(
            "above = \"wicket\"",
            &format!("above = \"sorrel\"\n{wicket_creek}"),
            1,
        );
        faults(&text).into_iter().map(|f| f.found).collect::<Vec<_>>()
    };
    let unnamed = both_above_sorrel("");
    assert!(
        unnamed.len() == 1 && unnamed[0].contains("without inflow"),
        "{unnamed:?}"
    );
    let twice = both_above_sorrel("inflow = \"sorrel\"");
    assert_eq!(twice, ["a second river of inflow \"sorrel\""]);
    // With an inflow of its own that enters there the file is sound.
    let text = harrow_gap()
        .replacen("above = \"wicket\"", "above = \"sorrel\"\ninflow = \"beck\"", 1)
        .replacen(
            "[[inflows]]\nid",
            "[[inflows]]\nid = \"beck\"\nname = \"Beck\"\nenters = \"sorrel\"\nflow = { gauge = \"sorrel\", factor = 0.1 }\n\
             regulated = false\nthermal_regime = \"lowland\"\n\n[[inflows]]\nid",
            1,
        );
    let found = faults(&text);
    assert!(found.is_empty(), "{}", render_faults(&found));
}

#[test]
fn an_inflow_that_is_said_to_be_gauged_needs_its_series() {
    let text = harrow_gap().replacen(
        "quantity = \"inflow\"\ninflow = \"wicket\"",
        "quantity = \"river_temp\"\ninflow = \"wicket\"",
        1,
    );
    let list = faults(&text);
    assert!(
        list.iter().any(|f| f
            .found
            .contains("no series of quantity \"inflow\" for \"wicket\"")),
        "{}",
        render_faults(&list)
    );
}

fn damaged(name: &str) -> Vec<Fault> {
    match read_lake_file(&root().join("fixtures/damaged").join(name), &service_rules()) {
        Err(LakeError::Faulty { faults, .. }) => faults,
        Err(other) => panic!("{other}"),
        Ok(_) => panic!("{name} has faults"),
    }
}

#[test]
fn twelve_faults_in_one_file_are_twelve_lines_at_their_places() {
    let text = std::fs::read_to_string(root().join("fixtures/damaged/lake-twelve-faults.toml")).unwrap();
    // Each faulty line of the fixture carries the number of its fault.
    let mut marked: Vec<(usize, usize)> = Vec::new();
    for (i, line) in text.lines().enumerate() {
        if let Some(number) = line
            .split("# ")
            .nth(1)
            .and_then(|rest| rest.split(':').next()?.parse().ok())
        {
            marked.push((number, i + 1));
        }
    }
    let list = damaged("lake-twelve-faults.toml");
    let shown = render_faults(&list);
    assert_eq!(
        marked.iter().map(|m| m.0).collect::<Vec<_>>(),
        (1..=12).collect::<Vec<_>>()
    );
    assert_eq!(
        list.iter().map(|f| f.line).collect::<Vec<_>>(),
        marked.iter().map(|m| m.1).collect::<Vec<_>>(),
        "{shown}"
    );
    assert_eq!(
        shown.lines().count(),
        13,
        "twelve faults and their number\n{shown}"
    );
    assert_eq!(shown.lines().last(), Some("12 faults"));
    for (line, fault) in shown.lines().zip(&list) {
        let place = format!("{}:{}:{}: found ", fault.file.display(), fault.line, fault.column);
        assert!(
            line.starts_with(&place) && line.contains(", wanted ") && line.contains("; mend: "),
            "{line}"
        );
    }
}

#[test]
fn a_fault_of_syntax_stands_alone_at_its_place() {
    let list = damaged("lake-cut-short.toml");
    assert_eq!(list.len(), 1, "{}", render_faults(&list));
    assert_eq!(list[0].line, 8);
    assert!(list[0].wanted.contains("TOML"), "{}", list[0].wanted);
}

#[test]
fn a_file_that_is_not_utf8_says_which_byte() {
    let list = damaged("lake-not-utf8.toml");
    assert_eq!(list.len(), 1);
    assert_eq!((list[0].line, list[0].column), (3, 9));
    assert!(list[0].found.contains("byte 0xC9"), "{}", list[0].found); // É in Latin-1 (ISO 8859-1, from memory)
}

#[test]
fn a_southern_lake_is_without_fault() {
    let south = harrow_gap()
        .replace("latitude = 42.", "latitude = -42.")
        .replace("[42.", "[-42.");
    let list = faults(&south);
    assert!(list.is_empty(), "{}", render_faults(&list));
}

#[test]
fn an_empty_file_lacks_every_needed_key() {
    let list = read_lake_bytes(b"", Path::new("empty.toml"), &service_rules())
        .err()
        .unwrap_or_default();
    let found: Vec<&str> = list.iter().map(|f| f.found.as_str()).collect();
    for key in [
        "id",
        "name",
        "latitude",
        "longitude",
        "time_zone",
        "vertical_datum",
        "zones",
    ] {
        assert!(
            found.contains(&format!("the lake file without {key}").as_str()),
            "{key}: {found:?}"
        );
    }
    assert_eq!(list.len(), 9, "{}", render_faults(&list)); // the seven above and the two pools
}

#[test]
fn a_file_that_cannot_be_read_names_itself_and_the_reason() {
    let missing = root().join("config/lakes/no-such-lake.toml");
    let error = read_lake_file(&missing, &service_rules()).expect_err("there is no such file");
    assert!(matches!(error, LakeError::Unreadable { .. }));
    assert!(error.to_string().contains("no-such-lake.toml"), "{error}");
}
