//! Published models written as rulebooks, at points: every cell of their tables, and equations at their own boundaries.
//!
//! Where a model measures wetness from the weather, a point gives it wet hours and warmth instead. The expected values
//! were computed by an independent script from the sources named beside each check; whole degrees are rounded half up.

use super::case::{case_of_book, number, reference, tree};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

type Row = BTreeMap<String, String>;

#[track_caller]
pub fn close(found: &Value, expected: f64, within: f64, what: &str) {
    let number = found["value"].as_f64().unwrap_or_else(|| panic!("{what}: no number in {found}"));
    assert!((number - expected).abs() <= within, "{what}: {found} is not {expected}");
}

/// A model of the project, to be asked at points.
pub struct Model {
    path: &'static str,
    changes: Vec<(String, String)>,
    items: String,
}

impl Model {
    pub fn new(name: &'static str) -> Self {
        let items = "observe warm-in\n  kind temperature\n\nobserve wet-in\n  kind duration\n\n".to_string();
        Self { path: name, changes: Vec::new(), items }
    }

    /// Puts another definition in the place of an item's, with all its clauses.
    pub fn instead(mut self, item: &str, definition: &str) -> Self {
        self.changes.push((format!("{item} "), format!("{item} = {definition}")));
        self
    }

    /// Adds an item.
    pub fn and(mut self, item: &str) -> Self {
        self.items += &format!("{item}\n\n");
        self
    }

    fn text(&self) -> String {
        let path = format!("{}/rulebooks/models/{}.rulebook", env!("CARGO_MANIFEST_DIR"), self.path);
        let mut text = std::fs::read_to_string(path).unwrap();
        for (start, definition) in &self.changes {
            let (mut changed, mut inside, mut found) = (String::new(), false, false);
            for line in text.lines() {
                if line.starts_with(start) {
                    (inside, found) = (true, true);
                    writeln!(changed, "{definition}").unwrap();
                } else if !(inside && line.starts_with(' ')) {
                    inside = false;
                    writeln!(changed, "{line}").unwrap();
                }
            }
            assert!(found, "the rulebook has no {start}");
            text = changed;
        }
        // What is said of the grove is said of the tree, which is the point.
        text.replace("  of       grove\n", "  of       tree\n")
    }

    /// Advises one tree for each point, given by its observations, and returns the trees.
    pub fn at(self, points: &[String]) -> Vec<Value> {
        let mut keys = String::from("sprays: none yet\ntrees:\n");
        for (at, point) in points.iter().enumerate() {
            writeln!(keys, "  - {{ tree: P{at}, {point} }}").unwrap();
        }
        let mut case = case_of_book("rulebooks/README.md", "", "UTC", "2026-06-01T05:00", &keys);
        case.book = format!("{}\n{}", self.text(), self.items);
        let advice = case.advise();
        (0..points.len()).map(|at| tree(&advice, &format!("P{at}")).clone()).collect()
    }
}

fn points(rows: &[Row], warm: &str, unit: &str, wet: &str) -> Vec<String> {
    rows.iter().map(|row| format!("warm-in: {} {unit}, wet-in: {} h", row[warm], row[wet])).collect()
}

/// MacHardy and Gadoury 1989 as amended by Stensvand, Gadoury and others: the revised Mills table.
#[test]
fn apple_scab_at_points() {
    let model = || {
        let model = Model::new("apple-scab-mills");
        model.instead("measure wet-period", "wet-in").instead("measure wet-warmth", "warm-in")
    };
    let rows = reference("models/apple_scab_mills_points.csv");
    let trees = model().at(&points(&rows, "mean_t_during_wetness_c", "°C", "wet_hours"));
    for (row, tree) in rows.iter().zip(&trees) {
        let what = &row["case_id"];
        match number(row, "required_hours") {
            Some(hours) => close(&tree["values"]["need"], hours, 0.0, what),
            None => assert!(tree["values"]["need"]["empty"].is_string(), "{what}"),
        }
        let infected = row["expected"] == "infection";
        assert_eq!(tree["values"]["infection"]["value"] == "infected", infected, "{what}");
        assert_eq!(tree["verdict"], if infected { "spray" } else { "hold" }, "{what}");
    }
    // The table itself, degree by degree; reprints agree but for typing errors, which it leaves out.
    let rows = reference("models/apple_scab_mills_revised_table.csv");
    assert_eq!(rows.len(), 26);
    let trees = model().at(&points(&rows, "t_c_whole_degree", "°C", "min_wet_hours"));
    for (row, tree) in rows.iter().zip(&trees) {
        let what = &row["t_c_whole_degree"];
        close(&tree["values"]["need"], number(row, "min_wet_hours").unwrap(), 0.0, what);
    }
}

/// Reads `3-5` or `25+` of a table's cell as its first and its last hour.
fn hours_of(cell: &str, most: u32) -> std::ops::RangeInclusive<u32> {
    match cell.strip_suffix('+') {
        Some(first) => first.parse().unwrap()..=most,
        None => {
            let (first, last) = cell.split_once('-').unwrap();
            first.parse().unwrap()..=last.parse().unwrap()
        }
    }
}

/// Every whole degree and hour of a table of severity values: the point, and what it is there.
fn cells(table: &str, degrees: &str, unit: &str, hours: &str, most: u32) -> Vec<(String, f64)> {
    let mut cells = Vec::new();
    for row in reference(table) {
        let end = |name: &str| number(&row, &format!("{degrees}_{name}")).unwrap() as i32;
        for warm in end("from")..=end("to") {
            for severity in 0..=4 {
                let cell = &row[&hours.replace('#', &severity.to_string())];
                for wet in (!cell.is_empty()).then(|| hours_of(cell, most)).into_iter().flatten() {
                    cells.push((format!("warm-in: {warm} {unit}, wet-in: {wet} h"), f64::from(severity)));
                }
            }
        }
    }
    cells
}

/// Madden, Pennypacker and MacNab 1978: the cells are written down from memory, their outer limits were read.
#[test]
fn tomato_severity_in_every_cell() {
    let model =
        |step| Model::new("tomato-severity").and(&format!("measure found-out = severity at {step}, wet-in"));
    let rows = reference("models/tomato_severity_points.csv");
    let trees =
        model("(warm-in rounded to 1 °C)").at(&points(&rows, "mean_t_during_wetness_c", "°C", "wet_hours"));
    for (row, tree) in rows.iter().zip(&trees) {
        close(&tree["values"]["found-out"], number(row, "expected_dsv").unwrap(), 0.0, &row["case_id"]);
    }
    let cells = cells("models/tomato_severity_dsv_table.csv", "t_c", "°C", "dsv#_hours", 24);
    assert_eq!(cells.len(), 17 * 25);
    let places: Vec<String> = cells.iter().map(|(point, _)| point.clone()).collect();
    for ((point, severity), tree) in cells.iter().zip(model("warm-in").at(&places)) {
        close(&tree["values"]["found-out"], *severity, 0.0, point);
    }
}

/// Krause, Massie and Hyre 1975, with hours of 90 % of humidity and above.
#[test]
fn potato_severity_in_every_cell() {
    let model =
        |step| Model::new("potato-blight").and(&format!("measure found-out = severity at {step}, wet-in"));
    let rows = reference("models/potato_blight_points.csv");
    let trees =
        model("(warm-in rounded to 1 °F)").at(&points(&rows, "mean_t_during_rh90_f", "°F", "hours_rh_ge_90"));
    for (row, tree) in rows.iter().zip(&trees) {
        let expected = number(row, "expected_severity_value").unwrap();
        close(&tree["values"]["found-out"], expected, 0.0, &row["case_id"]);
    }
    let cells = cells("models/potato_blight_severity_table.csv", "t_f", "°F", "sv#_hours", 30);
    assert_eq!(cells.len(), 36 * 31);
    let places: Vec<String> = cells.iter().map(|(point, _)| point.clone()).collect();
    for ((point, severity), tree) in cells.iter().zip(model("warm-in").at(&places)) {
        close(&tree["values"]["found-out"], *severity, 0.0, point);
    }
}

/// Spotts 1977: between the rows a straight line, as the rulebook has it, or the nearest row, half up to the next 5 °F.
#[test]
fn black_rot_by_a_line_and_by_the_nearest_row() {
    let rows = reference("models/grape_black_rot_points.csv");
    for (need, hours, infection) in [
        ("hours-needed at warmth", "required_linear_interp_h", "expected_linear_interp"),
        ("hours-needed at (warmth rounded to 5 °F)", "required_nearest_row_h", "expected_nearest_row"),
    ] {
        let model = Model::new("black-rot")
            .instead("measure wet-hours", "wet-in")
            .instead("measure warmth", "warm-in")
            .instead("measure need", need);
        for (row, tree) in rows.iter().zip(model.at(&points(&rows, "mean_t_f", "°F", "wet_hours"))) {
            let what = format!("{} {infection}", row["case_id"]);
            match number(row, hours) {
                Some(expected) => close(&tree["values"]["need"], expected, 0.0006, &what),
                None => assert!(tree["values"]["need"]["empty"].is_string(), "{what}"),
            }
            let infected = row[infection] == "infection";
            assert_eq!(tree["values"]["infection"]["value"] == "infected", infected, "{what}");
        }
    }
}

/// Magarey, Sutton and Thayer 2005, Phytopathology 95:92, with two sets of parameters. Outside the cardinal temperatures
/// no infection is possible; a textbook's code lets it happen there, which its column shows and we do not follow.
#[test]
fn the_generic_model_with_two_sets_of_parameters() {
    let rows = reference("models/generic_infection_points.csv");
    for coldest in ["7", "10"] {
        let rows: Vec<Row> = rows.iter().filter(|row| row["tmin_c"] == coldest).cloned().collect();
        assert_eq!(rows.len(), 8);
        let set = &rows[0];
        let model = Model::new("generic-infection")
            .instead("measure wet-hours", "wet-in")
            .instead("measure warmth", "warm-in")
            .instead("figure coldest", &format!("{} °C", set["tmin_c"]))
            .instead("figure best", &format!("{} °C", set["topt_c"]))
            .instead("figure warmest", &format!("{} °C", set["tmax_c"]))
            .instead("figure least-wet", &format!("{} h", set["wmin_h"]))
            .instead("figure most-wet", &format!("{} h", set["wmax_h"]));
        for (row, tree) in rows.iter().zip(model.at(&points(&rows, "t_c", "°C", "wmax_h"))) {
            let (what, values) = (&row["case_id"], &tree["values"]);
            match number(row, "required_wet_hours_raw") {
                Some(raw) => {
                    close(&values["response"], number(row, "f_of_t").unwrap(), 1e-6, what);
                    close(&values["need-uncut"], raw, 1e-4, what);
                    let cut = number(row, "required_wet_hours_capped_at_wmax").unwrap();
                    close(&values["need"], cut, 1e-4, what);
                    assert_eq!(values["infection"]["value"], "infected", "{what}: as wet as can be");
                }
                None => {
                    assert!(values["need"]["empty"].is_string(), "{what}");
                    assert_eq!(values["infection"]["value"], "none", "{what}");
                }
            }
        }
    }
}

/// Wilson, Madden and Ellis 1990 (anthracnose of strawberry) and Bulger, Ellis and Madden 1987 (grey mould), with the
/// coefficients as printed; the classes are written down from memory.
#[test]
fn logistic_infection_at_points() {
    let rows = reference("models/logistic_infection_points.csv");
    let model = Model::new("logistic-infection")
        .instead("measure wet-hours", "wet-in")
        .instead("measure warmth", "warm-in");
    for (row, tree) in rows.iter().zip(model.at(&points(&rows, "mean_t_c", "°C", "wet_hours"))) {
        let (what, values) = (&row["case_id"], &tree["values"]);
        for (name, disease) in [("anthracnose", "anthracnose"), ("mould", "botrytis")] {
            let expected = |figure: &str| number(row, &format!("{disease}_{figure}")).unwrap();
            close(&values[format!("{name}-logit")], expected("logit"), 1e-5, what);
            close(&values[format!("{name}-part")], expected("incidence"), 1e-5, what);
            let class = &row[&format!("{disease}_class")];
            assert_eq!(values[format!("{name}-risk")]["value"], class.as_str(), "{what} {name}");
        }
    }
}
