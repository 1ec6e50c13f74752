//! The whole draft, from the top of the file down.

use super::series::{render_others, render_series};
use super::shape::{render_hypsography, render_ramps, render_zones};
use super::write::{Page, quoted};
use crate::faces::Units;
use crate::reports::draft::{Draft, LakeDatum};

/// The draft as the text of a lake file. `species` are the ids that there are rules for.
pub fn render_draft(draft: &Draft, units: Units, species: &[&str]) -> String {
    let mut page = Page::new(units);
    head(&mut page, draft);
    top(&mut page, draft);
    render_hypsography(&mut page, draft);
    render_zones(&mut page, draft);
    render_ramps(&mut page);
    inflows(&mut page, draft);
    species_and_boat(&mut page, species);
    notices(&mut page);
    render_series(&mut page, draft);
    render_others(&mut page, draft);
    page.text
}

fn head(page: &mut Page, draft: &Draft) {
    let facts = &draft.facts;
    page.comment(&format!(
        "A draft of a lake file, made by `plungeline lake new` on {} for {:.4} N {:.4} E.",
        facts.today, facts.latitude_deg, facts.longitude_deg
    ));
    page.comment(
        "Each comment that begins with QUESTION says what only you can know and how to find it out; the key below it holds \"?\" until \
         you answer it. `plungeline lake check` on this file names the questions that are still open, and nothing else.",
    );
    page.comment(
        "Series were chosen by rule: the nearest that still runs. Read what each says of its station, and exchange it for \
         one of the others at the end of the file where the rule went wrong. docs/lake-file.md explains every key.",
    );
    page.gap();
}

fn top(page: &mut Page, draft: &Draft) {
    let facts = &draft.facts;
    page.key(
        "id",
        &quoted(&facts.id),
        "short name, also its folder in the store",
    );
    match &facts.name {
        Some(name) => page.key("name", &quoted(name), "name for people"),
        None => page.question("name", "what is the lake called? Any name that you would use."),
    }
    page.key("latitude", &format!("{:.4}", facts.latitude_deg), "degrees north");
    page.key(
        "longitude",
        &format!("{:.4}", facts.longitude_deg),
        "degrees east, so west is negative",
    );
    match &facts.time_zone {
        Some(zone) => page.key("time_zone", &quoted(zone), "as the National Weather Service states it of the position"),
        None => page.question(
            "time_zone",
            "no service said which time zone this is. Write its IANA name, such as \"America/Los_Angeles\"; a computer or \
             phone there shows it in its settings of date and time.",
        ),
    }
    match &facts.contact {
        Some(contact) => page.key("contact", &quoted(contact), "put into the User-Agent of each request"),
        None => page.question(
            "contact",
            "your mail address. It goes into the User-Agent of each request, so that a service can write to you instead of \
             shutting you out; the National Weather Service refuses requests without one.",
        ),
    }
    datum(page, &draft.datum);
    let full = page.unit("full_pool_elevation", "ft", "m");
    page.question(
        &full,
        "elevation of the full pool, in the datum above. The operator's page of the dam names it: \"top of conservation \
         pool\", \"full pool\" or \"spillway crest\". Mind the datum it is given in.",
    );
    let minimum = page.unit("minimum_pool_elevation", "ft", "m");
    page.question(
        &minimum,
        "the lowest pool that operation allows, in the datum above: \"minimum pool\", \"top of dead storage\" or \"inactive \
         pool\" on the operator's page.",
    );
    page.gap();
}

fn datum(page: &mut Page, datum: &LakeDatum) {
    match datum {
        LakeDatum::Named(datum) => {
            page.key(
                "vertical_datum",
                &quoted(datum),
                "datum of every elevation here, as you named it",
            );
        }
        LakeDatum::OfGauge(datum) => {
            page.comment(
                "The pool gauge's own datum, as its service states it. Every elevation in this file must be in it: the \
                 operator's figures may stand in another.",
            );
            page.key("vertical_datum", &quoted(datum), "datum of every elevation here");
        }
        LakeDatum::Asked(gauge) => {
            let gauge = gauge
                .as_ref()
                .map_or("The pool gauge does not state its datum".to_owned(), |datum| {
                    format!("The pool gauge reads above {datum}")
                });
            page.question(
                "vertical_datum",
                &format!(
                    "the datum of every elevation in this file, such as \"NAVD 88\" or \"NGVD 29\". {gauge}; take the one that \
                     your table of areas and the operator's figures are in. The title page of the table or of the survey says it."
                ),
            );
        }
    }
}

fn inflows(page: &mut Page, draft: &Draft) {
    page.comment(
        "Rivers and streams that enter the lake. Remove those that do not, with their series below: the rule takes gauges by \
         their names and distance, and knows no map.",
    );
    if draft.inflows.is_empty() {
        page.comment("No gauge of an inflow was found. Without one, remove this entry and the arm above.");
        page.line("[[inflows]]");
        page.key("id", "\"inflow-1\"", "id");
        page.question("name", "the name of the river.");
        enters(page);
        page.question(
            "flow",
            "\"series\" with a series of quantity inflow for it below, where you know a gauge; else remove this entry.",
        );
        rest_of_inflow(page);
    }
    for inflow in &draft.inflows {
        page.line("[[inflows]]");
        page.key("id", &quoted(&inflow.id), "id");
        page.key("name", &quoted(&inflow.name), "name for people");
        enters(page);
        page.key(
            "flow",
            "\"series\"",
            "gauged: its series of quantity inflow is below",
        );
        rest_of_inflow(page);
    }
}

fn enters(page: &mut Page) {
    page.question(
        "enters",
        "the zone that it flows into: \"main\", or the id of an arm above. Look at a map; remove the entry if it flows elsewhere.",
    );
}

fn rest_of_inflow(page: &mut Page) {
    page.question(
        "regulated",
        "does a dam upstream decide its flow? Write true or false, without quotes.",
    );
    page.question(
        "thermal_regime",
        "\"snow-fed\" where melting snow keeps it cold into summer, \"regulated\" below a deep reservoir, else \"lowland\".",
    );
    page.gap();
}

/// Examples, all of them comments: a notice is the user's own choice.
fn notices(page: &mut Page) {
    let (elevation, temp) = (
        page.unit("at_most_elevation", "ft", "m"),
        page.unit("at_most_temp", "degf", "degc"),
    );
    let (level, cool) = match page.units {
        Units::Us => ("778.0", "60.0"),
        Units::Metric => ("237.0", "15.5"),
    };
    page.comment(
        "What you want to be told of when it comes to hold, once each time. Take the marks off and put in your own; \
         docs/lake-file.md has all kinds.",
    );
    for line in [
        "#   [[notices]]",
        "#   id = \"low\"",
        "#   kind = \"level\"",
        &format!("#   {elevation} = {level}"),
        "#   [[notices]]",
        "#   id = \"main-cools\"",
        "#   kind = \"surface-temp\"",
        &format!("#   {temp} = {cool}"),
    ] {
        page.line(line);
    }
    page.gap();
}

fn species_and_boat(page: &mut Page, species: &[&str]) {
    page.comment("Fish to answer for. Copy the block for a second species.");
    page.line("[[species]]");
    page.question(
        "id",
        &format!(
            "which fish does the lake hold? There are rules for {}.",
            species.join(", ")
        ),
    );
    page.gap();
    page.comment("Your boat.");
    page.line("[boat]");
    let (launch, running, speed) = (
        page.unit("launch_depth", "ft", "m"),
        page.unit("running_depth", "ft", "m"),
        page.unit("run_speed", "mph", "m_s"),
    );
    page.question(
        &launch,
        "how much water must stand over the end of a ramp for your trailer?",
    );
    page.question(&running, "how much water does the boat need to run?");
    page.question(&speed, "how fast do you run from the ramp?");
    page.question("trip_h", "how many hours are you on the water?");
    page.gap();
}
