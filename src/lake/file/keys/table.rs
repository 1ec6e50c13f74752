//! The table of all keys of the lake file.

use super::key::Dimension::{Area, Extinction, Flow as Discharge, Height, Lead, Mass, Speed, Volume, Way};
use super::key::Kind::*;
use super::key::Need::{Always, Depends, Optional};
use super::key::{Key, Limits, Need};
use crate::lake::{MODEL_FACTORS, RiverWhat, WeatherWhat};

/// Elevations of the Earth's surface with room, metres: from below the Dead Sea to the highest lakes.
const ELEVATION: Limits = Limits::within(-500.0, 7000.0);
/// Depths and heights in a lake, metres; the deepest lake has about 1640 m (from memory).
const DEPTH: Limits = Limits::positive(2000.0);
/// Ways within one lake, metres.
const WAY: Limits = Limits::within(0.0, 1.0e6);
/// Areas, square metres; the largest lake has about 3.7e11 m2 (from memory).
const AREA: Limits = Limits::within(0.0, 1.0e12);
/// Volumes, cubic metres.
const VOLUME: Limits = Limits::within(0.0, 1.0e15);
/// Speeds of a small boat, metres a second: up to about 67 mph.
const SPEED: Limits = Limits::positive(30.0);
/// A fraction.
const FRACTION: Limits = Limits::within(0.0, 1.0);
/// A direction from north, degrees.
const DIRECTION: Limits = Limits::within(0.0, 360.0);

const CADENCES: &[&str] = &["daily", "continuous", "forecast"];

const fn key(
    block: &'static str,
    stem: &'static str,
    kind: super::key::Kind,
    need: Need,
    example: &'static str,
    meaning: &'static str,
) -> Key {
    Key {
        block,
        stem,
        kind,
        need,
        meaning,
        example,
    }
}

#[rustfmt::skip]
pub(super) const KEYS: &[Key] = &[
    key("", "id", Id, Always, "\"harrow-gap\"", "short name, also the lake's folder in the store: lower-case letters, digits, hyphens"),
    key("", "name", Text, Always, "\"Harrow Gap Reservoir\"", "name for people"),
    key("", "note", Text, Optional, "\"an invented lake\"", "a line printed under the name"),
    key("", "latitude", Number(Limits::within(-90.0, 90.0)), Always, "42.20", "degrees north; of a southern lake (negative) there are hindcasts and no briefs: seasons of the rules are northern"),
    key("", "longitude", Number(Limits::within(-180.0, 180.0)), Always, "-119.60", "degrees east; west is negative"),
    key("", "time_zone", TimeZone, Always, "\"America/Los_Angeles\"", "IANA name of the lake's time zone"),
    key("", "contact", Text, Optional, "\"angler@example.org\"", "mail address put into the User-Agent of each request; services ask for one"),
    key("", "vertical_datum", Text, Always, "\"NAVD 88\"", "datum of every elevation in the file"),
    key("", "full_pool_elevation", Measure(Height, ELEVATION), Always, "845.0", "elevation of the full pool"),
    key("", "minimum_pool_elevation", Measure(Height, ELEVATION), Always, "731.0", "lowest pool that operation allows"),
    key("", "hypsography", Block("hypsography"), Optional, "[hypsography]", "area by elevation; without it there are no volumes and the rules that need them are left out"),
    key("", "zones", Blocks("zones"), Always, "[[zones]]", "main body, arms, rivers"),
    key("", "stretches", Blocks("stretches"), Optional, "[[stretches]]", "named stretches of water"),
    key("", "ramps", Blocks("ramps"), Optional, "[[ramps]]", "launch ramps"),
    key("", "inflows", Blocks("inflows"), Depends, "[[inflows]]", "rivers and streams that enter; each arm needs one"),
    key("", "outlets", Blocks("outlets"), Optional, "[[outlets]]", "openings in the dam"),
    key("", "hazards", Blocks("hazards"), Optional, "[[hazards]]", "rocks, stumps and saddles, by the elevation at which they come out"),
    key("", "clarity", Block("clarity"), Optional, "[clarity]", "how far light goes, by month"),
    key("", "oxygen", Block("oxygen"), Optional, "[oxygen]", "what is known of the oxygen in deep water"),
    key("", "species", Blocks("species"), Optional, "[[species]]", "species to answer for; a brief needs one, a hindcast none"),
    key("", "stocking", Blocks("stocking"), Optional, "[[stocking]]", "releases of hatchery fish"),
    key("", "planned_release", Blocks("planned_release"), Optional, "[[planned_release]]", "release that the operator has announced, for the level ahead; before it the release goes on as it stands, after it as the plan ends"),
    key("", "ladder", Blocks("ladder"), Optional, "[[ladder]]", "presentations, in the order to try them"),
    key("", "boat", Block("boat"), Optional, "[boat]", "your boat; a brief needs it, a hindcast does not"),
    key("", "horizon", Blocks("horizon"), Optional, "[{ direction_deg = 90.0, height_deg = 8.0 }, ...]", "how high the hills stand over the level horizon, by direction, smallest first: when the sun reaches the water"),
    key("", "links", Block("links"), Optional, "[links]", "pages to look at before a trip: what no feed tells"),
    key("", "series", Blocks("series"), Optional, "[[series]]", "where each series comes from; several of one quantity and place stand in the order of preference"),
    key("", "water_readings", Text, Optional, "\"readings.csv\"", "a CSV file, absolute or relative to the lake file, of your own readings of the water (surfaces off the sonar, casts), which correct the lake's columns: columns time, zone, depth_ft or depth_m, temp_degf or temp_degc, oxygen_mg_l, error; times without an offset are the lake's"),
    key("", "official_alerts", Block("official_alerts"), Optional, "[official_alerts]", "where official alerts (warnings, advisories, watches) come from; without it the brief says that they are not known"),
    key("", "model_factors", Blocks("model_factors"), Optional, "[[model_factors]]", "what is known of the water model's factors at this lake: `plungeline hindcast --fit` prints these blocks, and the members of the ensemble differ as they say"),
    key("", "turnover", Block("turnover"), Optional, "[turnover]", "the season in which `plungeline turnover` looks ahead; without it July to the end of February, half a year later south of the equator"),
    key("", "hindcast", Block("hindcast"), Optional, "[hindcast]", "past weather, flows and observed profiles in CSV files, to run the lake's water over past years and compare"),

    key("hypsography", "rows", Blocks("hypsography.rows"), Depends, "[{ elevation_ft = 631.0, area_acres = 0.0 }, ...]", "one row an elevation, lowest first, from below minimum pool to full pool or above; or a file"),
    key("hypsography", "file", Text, Depends, "\"hypsography.csv\"", "a CSV file with the rows in any order, instead of `rows`; .gz is unpacked. A hindcast alone reads it"),
    key("hypsography", "elevation_column", Text, Depends, "\"elevation_m\"", "of a file: column of the elevation; or depth_column"),
    key("hypsography", "depth_column", Text, Depends, "\"depth_m\"", "of a file: column of the depth under the full pool, instead of the elevation"),
    key("hypsography", "height_unit", Text, Depends, "\"m\"", "of a file: unit of that column, m or ft"),
    key("hypsography", "area_column", Text, Depends, "\"area_m2\"", "of a file: column of the area"),
    key("hypsography", "area_unit", Text, Depends, "\"m2\"", "of a file: its unit, m2, km2, ha or acres"),
    key("hypsography.rows", "elevation", Measure(Height, ELEVATION), Always, "845.0", "elevation of the surface"),
    key("hypsography.rows", "area", Measure(Area, AREA), Always, "5200.0", "area of the surface at that elevation; never less than in the row below"),
    key("hypsography.rows", "volume", Measure(Volume, VOLUME), Depends, "413322.0", "volume below that elevation, in every row or in none; checked against the areas (2 %)"),

    key("zones", "id", Id, Always, "\"sorrel\"", "id, used in the rest of the file and in JSON"),
    key("zones", "name", Text, Always, "\"Sorrel Arm\"", "name for people"),
    key("zones", "kind", Word(&["main-body", "arm", "river"]), Always, "\"arm\"", "one zone is the main body; an arm is a flooded river valley; a river is flowing water above an arm or the main body, not trolled"),
    key("zones", "above", Reference("zones"), Depends, "\"sorrel\"", "of a river, and only of a river: the arm or main body that it flows into"),
    key("zones", "inflow", Reference("inflows"), Depends, "\"sorrel\"", "of a river, and only of a river: its inflow, which enters the zone below it; needed where several rivers lie above one zone; without it, the first inflow into that zone"),
    key("zones", "area_share", Blocks("zones.area_share"), Depends, "[{ elevation_ft = 845.0, share_frac = 0.17 }, ...]", "share of the lake's area by elevation, lowest first; needed of the main body and the arms where there are arms and a hypsography"),
    key("zones", "thalweg", Blocks("zones.thalweg"), Optional, "[{ distance_mi = 0.0, bed_elevation_ft = 655.0, width_ft = 1100.0 }, ...]", "the old river bed from the mouth (of the main body: the dam) to the head"),
    key("zones", "orientation_deg", Number(DIRECTION), Optional, "50.0", "where the long axis points from mouth to head, clockwise from north"),
    key("zones", "fetch", Blocks("zones.fetch"), Optional, "[{ direction_deg = 0.0, fetch_mi = 0.3 }, ...]", "open water upwind, by the direction that the wind comes from, smallest first; without it the outlines of the zones tell"),
    key("zones", "outline", Outline, Optional, "[[42.20, -119.60], [42.21, -119.59], [42.22, -119.61]]", "latitude and longitude of the corners of its water at full pool, in order round it, three or more, within 100 km of the lake's position; by it `plungeline log import` cuts tracks into legs; where zones overlap the first of the file counts"),
    key("zones.area_share", "elevation", Measure(Height, ELEVATION), Always, "845.0", "elevation of the surface"),
    key("zones.area_share", "share_frac", Number(FRACTION), Always, "0.17", "share of the lake's area at that elevation, 0 to 1: linear between rows, constant outside; all zones add up to 1"),
    key("zones.thalweg", "distance", Measure(Way, WAY), Always, "1.5", "way from the mouth; the first is 0"),
    key("zones.thalweg", "bed_elevation", Measure(Height, ELEVATION), Always, "690.0", "elevation of the bed there"),
    key("zones.thalweg", "width", Measure(Height, Limits::positive(1.0e6)), Always, "1000.0", "width of the surface there at full pool"),
    key("zones.thalweg", "position", Position, Optional, "[42.2888, -119.5408]", "latitude and longitude of the point, in every row or in none; by it the plan measures the runs from ramps to zones and stretches"),
    key("zones.fetch", "direction_deg", Number(Limits::within(0.0, 359.999)), Always, "45.0", "direction that the wind comes from, clockwise from north"),
    key("zones.fetch", "fetch", Measure(Way, WAY), Always, "2.4", "open water that way"),

    key("stretches", "id", Id, Always, "\"tollhouse-wall\"", "id"),
    key("stretches", "name", Text, Always, "\"Tollhouse Wall\"", "name for people"),
    key("stretches", "zone", Reference("zones"), Always, "\"sorrel\"", "zone that holds it: the main body or an arm"),
    key("stretches", "structure", Word(&["channel", "bluff", "island", "flat", "point"]), Always, "\"bluff\"", "what it is"),
    key("stretches", "bed_elevation", Measure(Height, ELEVATION), Always, "708.0", "elevation of the bed under the line"),
    key("stretches", "line", Line, Always, "[[42.2936, -119.5332], [42.3029, -119.5182]]", "latitude and longitude of two or more points along it, within 100 km of the lake's position"),
    key("stretches", "outline", Outline, Optional, "[[42.25, -119.57], [42.26, -119.57], [42.26, -119.56]]", "corners round the stretch, as of a zone; without it what lies within 150 m of the line, in its zone, is the stretch"),

    key("ramps", "id", Id, Always, "\"dam-road\"", "id, used in JSON"),
    key("ramps", "name", Text, Always, "\"Dam Road\"", "name for people"),
    key("ramps", "zone", Reference("zones"), Always, "\"main\"", "zone it launches into: the main body or an arm"),
    key("ramps", "toe_elevation", Measure(Height, ELEVATION), Always, "753.0", "elevation of the lower end of the concrete"),
    key("ramps", "position", Position, Optional, "[42.2040, -119.6060]", "latitude and longitude, within 100 km of the lake's position"),
    key("ramps", "lanes", Blocks("ramps.lanes"), Optional, "[{ elevation_ft = 756.0, lanes = 1 }, ...]", "lanes open by elevation, lowest first"),
    key("ramps.lanes", "elevation", Measure(Height, ELEVATION), Always, "775.0", "pool at and above which so many lanes are open, from the toe to full pool"),
    key("ramps.lanes", "lanes", Whole, Always, "2", "how many"),

    key("inflows", "id", Id, Always, "\"sorrel\"", "id"),
    key("inflows", "name", Text, Always, "\"Sorrel River\"", "name for people"),
    key("inflows", "enters", Reference("zones"), Always, "\"sorrel\"", "zone that it enters: an arm, or the main body"),
    key("inflows", "flow", Flow, Always, "\"series\"", "how its flow is known: \"series\" (a series of quantity inflow at this inflow), or { gauge = \"sorrel\", factor = 0.15 } from another inflow's series"),
    key("inflows", "regulated", Flag, Always, "false", "whether a dam upstream decides its flow; then every brief says that a sudden release is possible where it enters"),
    key("inflows", "thermal_regime", Word(&["lowland", "regulated", "snow-fed"]), Always, "\"snow-fed\"", "published parameters from which the fit of its temperature starts"),
    key("inflows", "mean_flow", Measure(Discharge, Limits::positive(3.0e5)), Optional, "600.0", "long-term mean flow"),
    key("inflows.flow", "gauge", Reference("inflows"), Always, "\"sorrel\"", "the inflow with a series"),
    key("inflows.flow", "factor", Number(Limits::positive(1000.0)), Always, "0.15", "this inflow's flow is so many times the gauged one"),

    key("outlets", "id", Id, Always, "\"outlet-works\"", "id"),
    key("outlets", "name", Text, Always, "\"River outlet works\"", "name for people"),
    key("outlets", "elevation", Measure(Height, ELEVATION), Always, "668.0", "elevation of the middle of the opening; of a spillway, its crest"),

    key("hazards", "id", Id, Always, "\"ferry-rock\"", "id"),
    key("hazards", "name", Text, Always, "\"Ferry Rock\"", "name for people"),
    key("hazards", "zone", Reference("zones"), Always, "\"main\"", "zone that holds it: the main body or an arm"),
    key("hazards", "kind", Word(&["rock", "stumps", "saddle"]), Always, "\"rock\"", "what it is; a saddle that dries closes a way"),
    key("hazards", "top_elevation", Measure(Height, ELEVATION), Always, "792.0", "elevation of its top"),
    key("hazards", "position", Position, Optional, "[42.2610, -119.5702]", "latitude and longitude, within 100 km of the lake's position: by them the plan tells whether a way passes it, and a saddle closes the way over it"),

    key("clarity", "secchi", Months(Height, Limits::positive(100.0)), Depends, "[9.0, 7.0, 6.0, 8.0, 10.0, 13.0, 16.0, 17.0, 16.0, 14.0, 12.0, 10.0]", "Secchi depth of each month, January first; or extinction"),
    key("clarity", "extinction", Months(Extinction, Limits::positive(50.0)), Depends, "[0.15, 0.2, 0.2, 0.2, 0.15, 0.15, 0.1, 0.1, 0.1, 0.1, 0.15, 0.15]", "light extinction of each month, January first, instead of Secchi depths"),

    key("oxygen", "trophic_state", Word(&["oligotrophic", "mesotrophic", "eutrophic"]), Depends, "\"mesotrophic\"", "trophic state; or demand"),
    key("oxygen", "demand_mg_l_per_day", Number(Limits::within(0.0, 10.0)), Depends, "0.05", "oxygen used up in the deep water, mg/L a day, instead of the trophic state"),

    key("species", "id", Id, Always, "\"rainbow-trout\"", "the stem of a file under config/species"),
    key("species", "mature_frac", Number(FRACTION), Optional, "0.4", "mean share of mature fish in autumn, where you know better than the species file"),

    key("stocking", "species", Reference("species"), Always, "\"rainbow-trout\"", "one of the species of the file"),
    key("stocking", "date", Date, Always, "2025-03-18", "day of the release"),
    key("stocking", "zone", Reference("zones"), Always, "\"main\"", "zone of the release"),
    key("stocking", "position", Position, Optional, "[42.2040, -119.6060]", "latitude and longitude of the release, within 100 km of the lake's position: fish near it count more"),
    key("stocking", "count", Whole, Always, "8000", "number of fish"),

    key("planned_release", "from", Date, Always, "2025-10-15", "first day"),
    key("planned_release", "until", Date, Always, "2025-11-30", "last day; blocks may not overlap"),
    key("planned_release", "flow", Measure(Discharge, Limits::within(0.0, 3.0e5)), Always, "800.0", "release of each of these days"),
    key("planned_release", "source", Text, Always, "\"the operator's notice of 1 October\"", "where the plan was published"),

    key("ladder", "species", References("species"), Always, "[\"rainbow-trout\"]", "species it is for"),
    key("ladder", "what", Text, Always, "\"a bare spoon run fast\"", "what to run: kinds of tackle, never makes"),
    key("ladder", "speed_min", Measure(Speed, SPEED), Always, "2.5", "speed through the water, slow end"),
    key("ladder", "speed_max", Measure(Speed, SPEED), Always, "3.5", "speed through the water, fast end"),
    key("ladder", "lead", Measure(Lead, Limits::positive(100.0)), Optional, "15.0", "from attractor or release clip to the lure, where it matters"),
    key("ladder", "blade", Measure(Lead, Limits::positive(10.0)), Optional, "6.0", "length of the attractor blade ahead of the lure, where there is one"),
    key("ladder", "note", Text, Optional, "\"hook tipped with a strip of bait\"", "what else there is to it"),
    key("ladder", "move_on", Text, Always, "\"half an hour without a touch\"", "the sign to go to the next rung"),
    key("ladder", "basis", Text, Always, "\"common practice, no source\"", "where the advice comes from"),

    key("boat", "launch_depth", Measure(Height, DEPTH), Always, "3.0", "water needed over the toe of a ramp"),
    key("boat", "running_depth", Measure(Height, DEPTH), Always, "3.0", "water needed under the boat to run"),
    key("boat", "run_speed", Measure(Speed, SPEED), Always, "22.0", "speed of the run from the ramp"),
    key("boat", "slow_speed", Measure(Speed, SPEED), Optional, "6.0", "speed of a run in the dark or among floating wood, at which you can stop for what you see; without it the plan takes 6 mph, and says so"),
    key("boat", "trip_h", Number(Limits::positive(24.0)), Always, "6.0", "planned hours on the water"),
    key("boat", "ball", Measure(Mass, Limits::positive(50.0)), Optional, "10.0", "mass of the downrigger's ball; without it the table of cable out is for 10 lb, and says so"),
    key("boat", "cable_diameter", Measure(Lead, Limits::positive(0.02)), Optional, "0.03", "diameter of its cable; without it the table is for 0.03 in"),
    key("boat", "cable_kind", Word(&["smooth", "stranded", "braid"]), Optional, "\"stranded\"", "make-up of its cable: one smooth wire, strands of wire laid together, or a braided line; the rougher, the shallower the ball runs; without it the table is for stranded wire"),

    key("horizon", "direction_deg", Number(DIRECTION), Always, "90.0", "direction from the water, clockwise from north"),
    key("horizon", "height_deg", Number(Limits::within(0.0, 89.0)), Always, "8.0", "angle of the hills' rim above level; linear between directions"),

    key("links", "algae", Text, Optional, "\"https://example.org/algae\"", "page with the posted status of harmful algae; the program never reads it, and never infers a status"),
    key("links", "fish_advisory", Text, Optional, "\"https://example.org/eating\"", "page with advisories on eating fish of this water"),
    key("links", "rules", Text, Optional, "\"https://example.org/rules\"", "page with rules, limits and closures"),
    key("links", "operator", Text, Optional, "\"https://example.org/dam\"", "page of the operator of the dam, or of the one upstream"),

    key("series", "id", Id, Always, "\"pool\"", "id; names the series' files in the store"),
    key("series", "quantity", Quantity, Always, "\"pool_elevation\"", "what it measures"),
    key("series", "zone", Reference("zones"), Depends, "\"main\"", "zone where it is measured: needed for water_temp and dissolved_oxygen"),
    key("series", "inflow", Reference("inflows"), Depends, "\"sorrel\"", "inflow where it is measured: needed for inflow and river_temp; turbidity has a zone or an inflow; all else is of the whole lake"),
    key("series", "depth", Measure(Height, Limits::within(0.0, 2000.0)), Depends, "3.0", "depth below the surface: needed for water_temp and dissolved_oxygen, unless a column of the CSV file holds it"),
    key("series", "service", Text, Always, "\"usgs-ogc\"", "where it comes from"),
    key("series", "station", Text, Depends, "\"USGS-990000010\"", "station, where the service has stations"),
    key("series", "parameter", Text, Depends, "\"62614\"", "the service's own name or code of what is measured; a CSV file has columns instead"),
    key("series", "statistic", Text, Depends, "\"00003\"", "the service's code of the daily statistic, where it has several: needed with daily values, and only with them"),
    key("series", "ensemble_model", Text, Depends, "\"gfs_seamless\"", "ensemble to ask for, where the service has several and forecasts are fetched"),
    key("series", "cadences", Words(CADENCES), Always, "[\"daily\", \"continuous\"]", "what to fetch: one value a day, instants within the day, forecasts"),
    key("series", "daily_from", Date, Depends, "2012-01-01", "first day of daily values: needed with them, except from a CSV file"),
    key("series", "daily_until", Date, Optional, "2021-12-31", "last day of daily values, where hourly ones take over"),
    key("series", "continuous_from", Date, Optional, "2022-01-01", "first day of values within the day; without it, the last 60 days"),
    key("series", "unit", Text, Depends, "\"acre-ft/day\"", "unit of a CSV column: needed there, and only there"),
    key("series", "datum_offset", Measure(Height, Limits::within(-7000.0, 7000.0)), Depends, "3.42", "added to a reading to come to the lake's datum: needed for pool_elevation (0 where the datum is the same), and only there"),
    key("series", "datum_source", Text, Depends, "\"the gauge's web page\"", "where the offset comes from; needed with it"),
    key("series", "late_after_h", Number(Limits::positive(9000.0)), Optional, "6.0", "age at which the newest value counts as late, hours"),
    key("series", "stands_in_for", Reference("series"), Optional, "\"pool\"", "series of the same quantity and place that this one stands in for while its newest value is late, missing or refused; without it several of one quantity and place go by their order in the file"),
    key("series", "file", Text, Depends, "\"gauge.xml\"", "the file, from the lake file's folder: needed by a service that reads a whole file, and only there"),
    key("series", "stamp_zone", Text, Depends, "\"-08:00\"", "zone of the service's times, an IANA name, UTC, or an offset: needed where the service does not state it, and only there"),
    key("series", "csv", Block("series.csv"), Depends, "[series.csv]", "file and columns, for a service that reads a file, and only there"),
    key("series.csv", "path", Text, Always, "\"observed.csv.gz\"", "the file, from the lake file's folder; .gz is unpacked"),
    key("series.csv", "time", Text, Always, "\"date\"", "column of the time"),
    key("series.csv", "value", Text, Always, "\"evaporation_acre_ft\"", "column of the value"),
    key("series.csv", "depth", Text, Optional, "\"depth_m\"", "column of the depth below the surface, in metres"),
    key("series.csv", "stamp_zone", Text, Always, "\"-08:00\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("series.csv", "missing", Texts, Optional, "[\"\", \"---\"]", "texts that mean \"no value\""),

    key("official_alerts", "service", Text, Always, "\"nws\"", "service that has alerts for the lake's position: nws, in the United States"),

    key("turnover", "from", Text, Always, "\"07-01\"", "first day of the season, month and day: before it no outlook is made"),
    key("turnover", "until", Text, Always, "\"02-29\"", "its last day, of the next year where it lies before `from`; \"02-29\" is the end of February in every year"),

    key("model_factors", "name", Word(MODEL_FACTORS), Always, "\"wind_frac\"", "factor on a published default: of the wind over the water, light extinction, longwave radiation of the sky, background diffusivity, share of the wind's power that mixes, exchange between reaches, oxygen demand"),
    key("model_factors", "median_frac", Number(Limits::within(0.1, 10.0)), Always, "0.94", "its median; 1 is the published default"),
    key("model_factors", "log_sd", Number(Limits::within(0.001, 2.0)), Always, "0.08", "standard deviation of its logarithm: 0.08 is about 8 %"),

    key("hindcast", "start", Date, Always, "2015-01-01", "first day whose profiles are compared (UTC)"),
    key("hindcast", "end", Date, Always, "2016-12-31", "last day (UTC)"),
    key("hindcast", "spin_up_days", Number(Limits::within(0.0, 36_500.0)), Always, "365", "days that the model runs before the first one; the weather must reach back as far"),
    key("hindcast", "surface_depth", Measure(Height, DEPTH), Optional, "3.3", "an observation no deeper counts as one of the surface; without it 1 m"),
    key("hindcast", "start_elevation", Measure(Height, ELEVATION), Optional, "840.0", "level at the first step; without it the full pool"),
    key("hindcast", "hold_level", Flag, Optional, "true", "the level stays where it starts, and what flows in leaves at the surface: for rivers without releases or levels"),
    key("hindcast", "fixed", Blocks("hindcast.fixed"), Optional, "[{ name = \"wind_frac\", value = 1.1 }, ...]", "parameters of the model that are not fitted"),
    key("hindcast", "weather", Blocks("hindcast.weather"), Always, "[[hindcast.weather]]", "tables of weather; each quantity in one of them"),
    key("hindcast", "inflow", Blocks("hindcast.inflow"), Optional, "[[hindcast.inflow]]", "tables of rivers; flow and temperature of one river may stand in two tables"),
    key("hindcast", "release", Blocks("hindcast.release"), Optional, "[[hindcast.release]]", "tables of releases"),
    key("hindcast", "level", Block("hindcast.level"), Optional, "[hindcast.level]", "table of the level; without it the level follows from the flows"),
    key("hindcast", "profiles", Blocks("hindcast.profiles"), Optional, "[[hindcast.profiles]]", "tables of observed profiles"),
    key("hindcast", "ice", Block("hindcast.ice"), Optional, "[hindcast.ice]", "table of winters"),

    key("hindcast.fixed", "name", Text, Always, "\"wind_frac\"", "name of the parameter"),
    key("hindcast.fixed", "value", Number(Limits::within(-1.0e9, 1.0e9)), Always, "1.1", "its value, in the unit that its name ends in"),

    key("hindcast.weather", "file", Text, Always, "\"weather.csv.gz\"", "the file, from the lake file's folder or the one named on the command line; .gz is unpacked"),
    key("hindcast.weather", "time", Text, Always, "\"time\"", "column of the time"),
    key("hindcast.weather", "stamp_zone", Text, Always, "\"UTC\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("hindcast.weather", "missing", Texts, Optional, "[\"NA\", \"-999\"]", "texts that mean \"no value\", beside an empty field"),
    key("hindcast.weather", "step_h", Number(Limits::within(1.0 / 6.0, 24.0)), Always, "3.0", "span that a row stands for, hours: 10 minutes (0.1667) to 24"),
    key("hindcast.weather", "stamp", Word(&["start", "middle", "end"]), Always, "\"middle\"", "where in its span the stamp lies; a day as stamp is its first instant"),
    key("hindcast.weather", "longest_gap_h", Number(Limits::positive(8760.0)), Optional, "12.0", "longest gap that is filled from both sides, hours; without it 12, and of rows of more than 4 hours three rows"),
    key("hindcast.weather", "stamp_shift_h", Number(Limits::within(-240.0, 240.0)), Optional, "-24.0", "hours added to every stamp, for a table whose stamps are known to be off; without it none"),
    key("hindcast.weather", "wind_height", Measure(Height, Limits::within(0.5, 200.0)), Optional, "6.6", "height of the wind above ground; without it 10 m. Other heights are brought to 10 m by the logarithmic law over water"),
    key("hindcast.weather", "columns", Blocks("hindcast.weather.columns"), Always, "[{ what = \"air_temp\", column = \"air_temp_degc\", unit = \"degC\" }, ...]", "which columns hold what"),
    key("hindcast.weather.columns", "what", Word(WeatherWhat::WORDS), Always, "\"air_temp\"", "quantity; snowfall is snow as water and is added to the precipitation. Needed are air_temp, one of the four humidities, wind_speed or wind_u and wind_v, and shortwave or cloud_cover; what else is missing is derived"),
    key("hindcast.weather.columns", "column", Text, Always, "\"air_temp_degc\"", "name in the header"),
    key("hindcast.weather.columns", "unit", Text, Always, "\"degC\"", "temperatures degC, degF, K; pressures Pa, hPa, mbar, kPa; wind m_s, km_h, kt, mph; directions deg, rad; radiation W_m2, MJ_m2_day, and of the row's span MJ_m2, J_m2; fractions frac, pct, tenths, oktas; rain of the row's span mm, m, in, and rates mm_h, m_h, mm_day, m_day, in_day; specific humidity kg_kg, g_kg"),

    key("hindcast.inflow", "file", Text, Always, "\"weather.csv.gz\"", "the file, from the lake file's folder or the one named on the command line; .gz is unpacked"),
    key("hindcast.inflow", "time", Text, Always, "\"time\"", "column of the time"),
    key("hindcast.inflow", "stamp_zone", Text, Always, "\"UTC\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("hindcast.inflow", "missing", Texts, Optional, "[\"NA\", \"-999\"]", "texts that mean \"no value\", beside an empty field"),
    key("hindcast.inflow", "step_h", Number(Limits::within(1.0 / 6.0, 24.0)), Optional, "24.0", "where a row is the mean of a span: its length, hours; without it a row is an instant, and values run straight from row to row"),
    key("hindcast.inflow", "stamp", Word(&["start", "middle", "end"]), Depends, "\"start\"", "where in its span the stamp lies; needed with step_h"),
    key("hindcast.inflow", "longest_gap_h", Number(Limits::positive(87_600.0)), Optional, "720.0", "longest time without a row that is bridged, hours; without it 30 days"),
    key("hindcast.inflow", "inflow", Reference("inflows"), Always, "\"sorrel\"", "the river: an id of `inflows`"),
    key("hindcast.inflow", "columns", Blocks("hindcast.inflow.columns"), Always, "[{ what = \"discharge\", column = \"flow_cfs\", unit = \"cfs\" }, ...]", "which columns hold what"),
    key("hindcast.inflow.columns", "what", Word(RiverWhat::WORDS), Always, "\"discharge\"", "quantity; a river needs discharge and temp, oxygen is saturated where it is not given"),
    key("hindcast.inflow.columns", "column", Text, Always, "\"flow_cfs\"", "name in the header"),
    key("hindcast.inflow.columns", "unit", Text, Always, "\"cfs\"", "flows m3s, cfs, m3_day, acre_ft_day; temperatures degC, degF, K; oxygen mg_l"),

    key("hindcast.release", "file", Text, Always, "\"weather.csv.gz\"", "the file, from the lake file's folder or the one named on the command line; .gz is unpacked"),
    key("hindcast.release", "time", Text, Always, "\"time\"", "column of the time"),
    key("hindcast.release", "stamp_zone", Text, Always, "\"UTC\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("hindcast.release", "missing", Texts, Optional, "[\"NA\", \"-999\"]", "texts that mean \"no value\", beside an empty field"),
    key("hindcast.release", "step_h", Number(Limits::within(1.0 / 6.0, 24.0)), Optional, "24.0", "where a row is the mean of a span: its length, hours; without it a row is an instant, and values run straight from row to row"),
    key("hindcast.release", "stamp", Word(&["start", "middle", "end"]), Depends, "\"start\"", "where in its span the stamp lies; needed with step_h"),
    key("hindcast.release", "longest_gap_h", Number(Limits::positive(87_600.0)), Optional, "720.0", "longest time without a row that is bridged, hours; without it 30 days"),
    key("hindcast.release", "outlet", Text, Depends, "\"outlet-works\"", "the opening: an id of `outlets`; needed where the lake has several"),
    key("hindcast.release", "column", Text, Always, "\"release_cfs\"", "name in the header"),
    key("hindcast.release", "unit", Text, Always, "\"cfs\"", "m3s, cfs, m3_day or acre_ft_day"),

    key("hindcast.level", "file", Text, Always, "\"weather.csv.gz\"", "the file, from the lake file's folder or the one named on the command line; .gz is unpacked"),
    key("hindcast.level", "time", Text, Always, "\"time\"", "column of the time"),
    key("hindcast.level", "stamp_zone", Text, Always, "\"UTC\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("hindcast.level", "missing", Texts, Optional, "[\"NA\", \"-999\"]", "texts that mean \"no value\", beside an empty field"),
    key("hindcast.level", "step_h", Number(Limits::within(1.0 / 6.0, 24.0)), Optional, "24.0", "where a row is the mean of a span: its length, hours; without it a row is an instant, and values run straight from row to row"),
    key("hindcast.level", "stamp", Word(&["start", "middle", "end"]), Depends, "\"start\"", "where in its span the stamp lies; needed with step_h"),
    key("hindcast.level", "longest_gap_h", Number(Limits::positive(87_600.0)), Optional, "720.0", "longest time without a row that is bridged, hours; without it 30 days"),
    key("hindcast.level", "column", Text, Always, "\"elevation_ft\"", "name in the header"),
    key("hindcast.level", "unit", Text, Always, "\"ft\"", "m or ft"),
    key("hindcast.level", "datum_offset", Measure(Height, Limits::within(-7000.0, 7000.0)), Always, "3.42", "added to a reading to come to the lake's datum; 0 where the datum is the same"),

    key("hindcast.profiles", "file", Text, Always, "\"weather.csv.gz\"", "the file, from the lake file's folder or the one named on the command line; .gz is unpacked"),
    key("hindcast.profiles", "time", Text, Always, "\"time\"", "column of the time"),
    key("hindcast.profiles", "stamp_zone", Text, Always, "\"UTC\"", "zone of stamps that carry none: an IANA name, UTC, or an offset"),
    key("hindcast.profiles", "missing", Texts, Optional, "[\"NA\", \"-999\"]", "texts that mean \"no value\", beside an empty field"),
    key("hindcast.profiles", "what", Word(&["water_temp", "oxygen"]), Always, "\"water_temp\"", "what the profiles are of"),
    key("hindcast.profiles", "unit", Text, Always, "\"degC\"", "unit of the values: degC, degF, K; of oxygen mg_l"),
    key("hindcast.profiles", "depth", Text, Depends, "\"depth_m\"", "a row each: column of the depth, down from the surface of the day; or depths"),
    key("hindcast.profiles", "depth_unit", Text, Depends, "\"m\"", "its unit, m or ft; needed with depth"),
    key("hindcast.profiles", "value", Text, Depends, "\"water_temp_degc\"", "column of the value; needed with depth"),
    key("hindcast.profiles", "depths", Blocks("hindcast.profiles.depths"), Depends, "[{ column = \"at_3_ft\", depth_ft = 3.0 }, ...]", "a column each, instead of depth and value: names and depths"),
    key("hindcast.profiles", "day_hour_h", Number(Limits::within(0.0, 24.0)), Optional, "9.0", "hour of the day, in the zone of the stamps, of stamps that are days; without it 12"),
    key("hindcast.profiles", "low", Number(Limits::within(-500.0, 1000.0)), Optional, "-0.2", "values below are left out and counted, in the file's unit: a sensor frozen in"),
    key("hindcast.profiles", "high", Number(Limits::within(-500.0, 1000.0)), Optional, "35.0", "values above are left out and counted, in the file's unit"),
    key("hindcast.profiles.depths", "column", Text, Always, "\"at_3_ft\"", "name in the header"),
    key("hindcast.profiles.depths", "depth", Measure(Height, Limits::within(0.0, 2000.0)), Always, "3.0", "its depth below the surface"),

    key("hindcast.ice", "file", Text, Always, "\"ice.csv\"", "the file, a row a winter; .gz is unpacked"),
    key("hindcast.ice", "first", Text, Always, "\"first_ice_date\"", "column of the first day under ice"),
    key("hindcast.ice", "last", Text, Always, "\"last_ice_date\"", "column of the last day under ice"),
    key("hindcast.ice", "missing", Texts, Optional, "[\"NA\"]", "texts that mean \"no value\", beside an empty field"),
];
