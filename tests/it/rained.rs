//! Rain on a spray that has not dried: said when the spray is written down, and counted as no cover in the advice.

use crate::cli::{folder, ran};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Copies the example grove, with some rain in hours of the morning of 9 February, as of a moment of that morning.
fn grove(name: &str, as_of: &str, rain: &[(&str, &str)]) -> String {
    let path = folder(name).join("grove");
    let grove = path.to_str().unwrap().to_owned();
    ran(&["start", &grove, "--example", "mixed-grove"], 0);
    edit(&path.join("grove.yaml"), |text| {
        text.replace("2027-02-09T04:30", as_of).replace("2027-02-09T04:00", as_of)
    });
    edit(&path.join("weather.csv"), |text| {
        rain.iter().fold(text, |text, (hour, depth)| {
            let begin = format!("2027-02-09T{hour},");
            let line = text.lines().find(|line| line.starts_with(&begin)).unwrap().to_owned();
            let mut cells: Vec<&str> = line.split(',').collect();
            cells[4] = depth;
            text.replace(&line, &cells.join(","))
        })
    });
    grove
}

fn edit(file: &Path, with: impl Fn(String) -> String) {
    fs::write(file, with(fs::read_to_string(file).unwrap())).unwrap();
}

/// Writes down sulfur on A01 to A05 from 5:30 to 6:40, and returns what is remarked.
fn sprayed(grove: &str) -> Vec<String> {
    let arguments = ["sprayed", grove, "--on", "A01-A05", "--product", "sulfur", "--strength", "reduced"];
    let rest = ["--volume", "8 gal", "--operator", "M. T.", "--start", "05:30", "--end", "06:40"];
    let (out, _) = ran(&[&arguments[..], &rest, &["--format", "json"]].concat(), 0);
    let read: Value = serde_json::from_str(&out).unwrap();
    let remarks = read["remarks"].as_array().unwrap().iter();
    remarks.map(|it| it.as_str().unwrap().to_owned()).filter(|it| it.contains("rain")).collect()
}

/// The two hours after 6:40 are those from seven and from eight; what fell while the spray ran is none of them.
#[test]
fn rain_that_fell_meanwhile_is_remarked() {
    let dry = grove("rained_dry", "2027-02-09T10:00", &[("06:00", "0.30")]);
    assert_eq!(sprayed(&dry), Vec::<String>::new());
    let soon = grove("rained_soon", "2027-02-09T10:00", &[("08:00", "0.12")]);
    assert_eq!(
        sprayed(&soon),
        ["0.12 in of rain fell within 2 h after the spray, before it can have dried."]
    );
    let later = grove("rained_later", "2027-02-09T10:00", &[("09:00", "0.25")]);
    assert_eq!(sprayed(&later), ["0.25 in of rain fell since the spray."]);
    let both = grove("rained_both", "2027-02-09T10:00", &[("07:00", "0.12"), ("09:00", "0.25")]);
    let said = sprayed(&both);
    assert_eq!((said.len(), said[1].as_str()), (2, "0.37 in of rain fell since the spray."));
    let ahead = grove("rained_ahead", "2027-02-09T06:45", &[("07:00", "0.12")]);
    assert_eq!(
        sprayed(&ahead),
        ["0.12 in of rain within 2 h after the spray, as far as they are forecast: it may not dry."]
    );
}

/// Sulfur of the morning, on which 3 mm fell within two hours, is no cover.
#[test]
fn a_spray_that_never_dried_covers_nothing() {
    let wet = grove("rained_cover", "2027-02-09T10:00", &[("07:00", "0.12")]);
    let dry = grove("rained_no_cover", "2027-02-09T10:00", &[]);
    let cover = |grove: &str, tree: &str| {
        sprayed(grove);
        let (out, _) = ran(&["advise", grove, "--format", "json"], 0);
        let advice: Value = serde_json::from_str(&out).unwrap();
        let found = advice["trees"].as_array().unwrap().iter().find(|it| it["tree"] == tree).unwrap();
        found["values"]["mildew-cover"]["value"].clone()
    };
    assert_eq!(cover(&dry, "A01"), "fresh");
    assert_eq!(cover(&wet, "A01"), "worn");
    let (why, _) = ran(&["why", &wet, "A01", "--all"], 0);
    assert!(why.contains("rain within 2 h of the last sulfur 0.12 in"), "{why}");
}
