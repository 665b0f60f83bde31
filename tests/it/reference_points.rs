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

/// Degree-days by averages, computed by an independent script: each end cut at base and upper first, as the rulebook has
/// it, or the mean alone, with nothing below zero; and the rule of four cases as the UK Met Office prints it.
#[test]
fn degree_days_by_three_rules() {
    let rows = reference("models/degree_days.csv");
    assert_eq!(rows.len(), 13);
    for row in &rows {
        let what = &row["case_id"];
        let below = "(base in °C) - (low-in in °C)";
        let model = Model::new("degree-days")
            .instead("figure base", &format!("{} °C", row["base_c"]))
            .instead("figure upper", &format!("{} °C", row["upper_c"]))
            .instead("daily low-cut", "low")
            .instead("daily high-cut", "high")
            .and("observe low-in\n  kind temperature")
            .and("observe high-in\n  kind temperature")
            .and("measure low-at = low-in kept from base to upper")
            .and("measure high-at = high-in kept from base to upper")
            .and("measure cut = (low-at in °C + high-at in °C) / 2 - (base in °C)")
            .and("measure middle = (low-in in °C + high-in in °C) / 2")
            .and("measure plain = (middle - (base in °C)) kept from 0 to 100")
            .and("measure case-one = middle - (base in °C)\n  valid if low-in at least base")
            .and(&format!(
                "measure case-two = ((high-in in °C) - (base in °C)) / 2 - ({below}) / 4\n  \
                 valid if low-in below base and excess at least 0"
            ))
            .and("measure excess = middle - (base in °C)")
            .and(
                "measure case-three = ((high-in in °C) - (base in °C)) / 4\n  \
                 valid if excess below 0 and high-in above base",
            )
            .and("measure four = case-one or else case-two or else case-three or else 0")
            .and(
                "warning shown \"shown\"\n  says \"x\"\n  of tree\n  because \"x\"\n  cites to-be-sourced\n  \
                 if cut at least 0 or plain at least 0 or four at least 0",
            );
        let trees = model.at(&[format!("low-in: {} °C, high-in: {} °C", row["tmin_c"], row["tmax_c"])]);
        for (name, column) in [
            ("cut", "average_with_inputs_clamped_c_day"),
            ("plain", "simple_average_floored_at_0_c_day"),
            ("four", "uk_met_office_four_case_c_day"),
        ] {
            close(&trees[0]["values"][name], number(row, column).unwrap(), 1e-4, &format!("{what} {name}"));
        }
    }
}
