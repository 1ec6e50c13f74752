//! The picture of the section: what other readers of SVG and PNG find in it. With `PLUNGELINE_PICTURES` set to a folder it is
//! left there, to be looked at.

use plungeline::column::forcing::Forcing;
use plungeline::column::layered::{ModelFactors, Water};
use plungeline::column::reservoir::{DriveBuffer, Reservoir, ReservoirSetup, Section, section_of};
use plungeline::faces::picture::{Scene, SectionPicture, render_png, render_svg, section_scene};
use plungeline::faces::{Reader, Units};
use plungeline::lake::Lake;
use roxmltree::{Document, Node};

use super::forcing;
use super::section::with_arms;

/// A lake in layers of late summer, an hour after.
fn late_summer(lake: &Lake, level_m: f64) -> Section {
    let setup = ReservoirSetup::of_lake(lake).unwrap();
    let water = |column: usize, elevation_m: f64, _: usize| {
        let warm = 1.0 / (1.0 + (-(elevation_m - level_m + 12.0) / 2.5).exp());
        Water {
            temp_degc: 7.0 + 11.0 * warm,
            oxygen_mg_l: 4.0 + 5.0 * warm,
            river_frac: 0.08 * column as f64,
        }
    };
    let factors = [ModelFactors::default(); 2];
    let mut reservoir = Reservoir::filled(&setup, factors, [level_m; 2], water).unwrap();
    let mut hour: Forcing = forcing(1, 3600.0);
    // The season's air on the late-summer lake; one river an inflow of the lake file.
    hour.rivers[0].iter_mut().for_each(|r| r.temp_degc = 9.0);
    hour.rivers[1].iter_mut().for_each(|r| r.temp_degc = 22.0);
    let mut buffer = DriveBuffer::default();
    reservoir.step(&buffer.gather([&hour; 2], 12)).unwrap();
    let [at, since] = ["2025-09-25T11:00:00Z", "2025-08-26T11:00:00Z"].map(|t| t.parse().unwrap());
    section_of(lake, std::slice::from_ref(&reservoir), (at, since)).unwrap()
}

fn scene(lake: &Lake, section: &Section, units: Units) -> Scene {
    section_scene(&SectionPicture {
        section,
        lake: &lake.name,
        note: lake.note.as_deref(),
        reader: &Reader::new(units, lake.time_zone),
    })
}

fn left_to_be_seen(name: &str, scene: &Scene) {
    if let Some(folder) = std::env::var_os("PLUNGELINE_PICTURES") {
        let path = std::path::Path::new(&folder).join(name);
        std::fs::write(path, render_png(scene, 2.0).unwrap()).unwrap();
    }
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

fn with_tag<'a>(read: &'a Document<'_>, tag: &'a str) -> impl Iterator<Item = Node<'a, 'a>> {
    read.descendants().filter(move |n| n.has_tag_name(tag))
}

fn points(node: Node<'_, '_>) -> Vec<(f64, f64)> {
    let pair = |text: &str| {
        let (x, y) = text.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    node.attribute("points").unwrap().split(' ').map(pair).collect()
}

/// Left, upper, right and lower edge.
type Edges = (f64, f64, f64, f64);

fn edges(rect: Node<'_, '_>) -> Edges {
    let (x, y) = (number(rect, "x"), number(rect, "y"));
    (x, y, x + number(rect, "width"), y + number(rect, "height"))
}

/// Frames of the plots: closed lines of four corners, upright ones of the bars left out.
fn frames(read: &Document<'_>) -> Vec<Edges> {
    let lines = with_tag(read, "polyline").map(points);
    lines
        .filter(|p| p.len() == 5 && p[0] == p[4] && p[0].1 == p[1].1 && p[1].0 == p[2].0)
        .map(|p| (p[0].0, p[0].1, p[2].0, p[2].1))
        .filter(|f| f.2 - f.0 > 20.0 && f.3 - f.1 > 20.0)
        .collect()
}

const PAPER: &str = "#ffffff";
const DAM: &str = "#555555";
const GROUND: &str = "#c9bfb0";

/// Blocks of water: coloured rectangles within the frames.
fn blocks(read: &Document<'_>, frames: &[Edges]) -> usize {
    // Frames lie on pixels that are no whole ones where blocks do.
    let within = |r: &Edges| {
        let fits = |f: &Edges| r.0 > f.0 - 1.0 && r.1 > f.1 - 1.0 && r.2 < f.2 + 1.0 && r.3 < f.3 + 1.0;
        frames.iter().any(fits)
    };
    with_tag(read, "rect")
        .filter(|n| n.has_attribute("x"))
        .filter(|n| ![PAPER, DAM].contains(&n.attribute("fill").unwrap()))
        .map(edges)
        .filter(within)
        .count()
}

/// Everything lies on the sheet, texts as far as their letters are about half an em wide.
fn on_the_sheet(read: &Document<'_>) {
    let sheet = read.root_element();
    let (width, height) = (number(sheet, "width"), number(sheet, "height"));
    let inside = |x: f64, y: f64, what: &str| {
        assert!(
            (0.0..=width).contains(&x) && (0.0..=height).contains(&y),
            "{x} {y} {what}"
        );
    };
    for rect in with_tag(read, "rect").filter(|n| n.has_attribute("x")) {
        let (x0, y0, x1, y1) = edges(rect);
        inside(x0, y0, "rect");
        inside(x1, y1, "rect");
    }
    for tag in ["polyline", "polygon"] {
        for (x, y) in with_tag(read, tag).flat_map(points) {
            inside(x, y, tag);
        }
    }
    for text in with_tag(read, "text").filter(|n| !n.has_attribute("transform")) {
        let words = text.text().unwrap_or("");
        let length = 0.5 * number(text, "font-size") * words.chars().count() as f64;
        let before = match text.attribute("text-anchor").unwrap() {
            "start" => 0.0,
            "middle" => 0.5,
            _ => 1.0,
        };
        let x = number(text, "x") - before * length;
        inside(x, number(text, "y"), words);
        inside(x + length, number(text, "y"), words);
    }
}

fn texts(read: &Document<'_>) -> Vec<String> {
    with_tag(read, "text")
        .filter_map(|n| n.text().map(str::to_owned))
        .collect()
}

#[test]
fn a_block_is_drawn_for_every_layer_and_nothing_lies_off_the_sheet() {
    for (arms, level_m) in [
        (0, 250.0),
        (1, 250.0),
        (2, 250.0),
        (2, 235.5),
        (4, 250.0),
        (4, 240.0),
    ] {
        let lake = with_arms(arms);
        let section = late_summer(&lake, level_m);
        for units in [Units::Us, Units::Metric] {
            let scene = scene(&lake, &section, units);
            left_to_be_seen(&format!("section-{arms}-{level_m}-{units:?}.png"), &scene);
            let svg = render_svg(&scene).unwrap();
            let read = Document::parse(&svg).unwrap();
            let frames = frames(&read);
            assert_eq!(
                frames.len(),
                3 * section.zones.len(),
                "a plot a zone and quantity"
            );
            let layers: usize = section.columns().map(|(_, column)| column.layers.len()).sum();
            assert_eq!(blocks(&read, &frames), 3 * layers, "{arms} {level_m}");
            let ground = with_tag(&read, "polygon").filter(|n| n.attribute("fill") == Some(GROUND));
            assert_eq!(ground.count(), 3 * section.zones.len());
            on_the_sheet(&read);
        }
    }
}

#[test]
fn zones_stand_where_the_section_says_at_one_scale() {
    let lake = with_arms(2);
    let section = late_summer(&lake, 250.0);
    let svg = render_svg(&scene(&lake, &section, Units::Us)).unwrap();
    let read = Document::parse(&svg).unwrap();
    let frames = frames(&read);
    // 9.0, 5.5 and 2.6 mi (config/lakes/harrow-gap.toml); edges on whole pixels.
    let across: Vec<f64> = frames[..3].iter().map(|f| (f.2 - f.0) / 824.0 * 17.1).collect();
    for (found, miles) in across.iter().zip([9.0, 5.5, 2.6]) {
        assert!((found - miles).abs() < 0.02, "{across:?}");
    }
    // A block of the head reach stands at the left, of the first reach of the Wicket at the left of its plot.
    assert!(frames[0].2 < frames[1].0 && frames[1].2 < frames[2].0);
    assert!(
        frames[..3]
            .iter()
            .all(|f| f.1 == frames[0].1 && f.3 == frames[0].3)
    );
}

#[test]
fn the_words_name_zones_rivers_outlets_axes_and_units() {
    let lake = with_arms(2);
    let section = late_summer(&lake, 250.0);
    let said = |units: Units| {
        let svg = render_svg(&scene(&lake, &section, units)).unwrap();
        texts(&Document::parse(&svg).unwrap())
    };
    let us = said(Units::Us);
    for words in [
        "Harrow Gap Reservoir, Thu 25 Sep 2025, 04:00 PDT: modelled, median of 2 members",
        "Sorrel Arm",
        "Main Body",
        "Wicket Arm",
        "Water temperature, °F",
        "Dissolved oxygen, mg/L",
        "River water, % of volume",
        "elevation, ft",
        "miles from the dam",
        "miles from its mouth",
        "full pool",
        "dam",
        "River outlet works",
        "Sorrel River sinks",
        "Wicket Creek stays on top",
    ] {
        assert!(us.iter().any(|text| text == words), "{words}: {us:?}");
    }
    assert!(us.iter().any(|text| text.contains("An invented lake")), "{us:?}");
    let caption = us.join(" ");
    assert!(caption.contains("come in by rivers since Tue 26 Aug."), "{us:?}");
    let metric = said(Units::Metric);
    for words in ["Water temperature, °C", "elevation, m", "km from the dam"] {
        assert!(metric.iter().any(|text| text == words), "{words}: {metric:?}");
    }
    let rows = late_summer(&with_arms(4), 250.0);
    let svg = render_svg(&scene(&lake, &rows, Units::Us)).unwrap();
    let four = texts(&Document::parse(&svg).unwrap());
    for words in [
        "Tansy Arm",
        "Yarrow Arm",
        "miles from the dam, or from the arm's mouth",
    ] {
        assert!(four.iter().any(|text| text == words), "{words}: {four:?}");
    }
}

#[test]
fn a_closed_arm_is_named_closed() {
    let lake = with_arms(2);
    let svg = render_svg(&scene(&lake, &late_summer(&lake, 233.0), Units::Us)).unwrap();
    let said = texts(&Document::parse(&svg).unwrap());
    // Both reaches of the Wicket; what reaches of the Sorrel lie dry at that level adds to them.
    let closed = said.iter().filter(|text| *text == "closed").count();
    let section = late_summer(&lake, 233.0);
    assert_eq!(closed, section.columns().filter(|(_, c)| c.closed).count());
    assert!(closed >= 2);
}

#[test]
fn the_png_has_the_size_of_the_sheet() {
    let lake = with_arms(2);
    let scene = scene(&lake, &late_summer(&lake, 250.0), Units::Us);
    let bytes = render_png(&scene, 1.5).unwrap();
    let png = png::Decoder::new(std::io::Cursor::new(&bytes))
        .read_info()
        .unwrap();
    let wanted = [scene.width, scene.height].map(|side| (1.5 * side).round() as u32);
    assert_eq!([png.info().width, png.info().height], wanted);
    // What a picture in the documents may weigh.
    assert!(bytes.len() < 200_000, "{}", bytes.len());
}
