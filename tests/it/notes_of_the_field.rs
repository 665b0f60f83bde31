//! A table of sloppy notes: what each is understood as, or what is asked.

use super::cli::top;
use super::house::files_below;
use bloomward::grove::{NewRow, notes};
use bloomward::workspace::{GroveRequest, MemoryStore, OpenGrove, Purpose, Unopened, open_grove};
use std::fs;
use std::path::Path;
use std::sync::LazyLock;

/// The example grove, from which all notes of the table are.
fn open() -> OpenGrove {
    let mut store = MemoryStore::default();
    for folder in ["examples/mixed-grove", "rulebooks"] {
        for file in files_below(&top().join(folder)) {
            let text = fs::read_to_string(&file).unwrap_or_default();
            store = store.with(file.strip_prefix(top()).unwrap(), text);
        }
    }
    let request = GroveRequest {
        store: &store,
        grove: Path::new("examples/mixed-grove"),
        by: None,
        library: None,
        as_of: None,
        now: "2027-02-09T08:30:00Z".parse().unwrap(),
        purpose: Purpose::Scouting,
    };
    match open_grove(&request) {
        Ok(open) => open,
        Err(Unopened::Refusal(refusal)) => panic!("{refusal:?}"),
        Err(Unopened::Findings(problems, sources)) => panic!("{}", problems.plain(&sources)),
    }
}

static GROVE: LazyLock<OpenGrove> = LazyLock::new(open);

/// Returns what a note is understood as, or what is asked.
fn understood(text: &str) -> Result<Vec<String>, String> {
    let mut sources = GROVE.sources.clone();
    let id = sources.add("notes", text);
    let (noted, problems) = notes(id, &GROVE.grove, &GROVE.plan, &sources);
    if !problems.is_empty() {
        return Err(problems.plain(&sources));
    }
    Ok(noted.iter().map(|note| shown(note.row(None, &GROVE.plan))).collect())
}

fn shown(mut row: NewRow) -> String {
    row.sort();
    let of = |wanted: &str| row.iter().find(|(column, _)| column == wanted).map_or("", |(_, value)| value);
    let seen = row.iter().filter(|(column, _)| !["when", "on"].contains(&&**column));
    let seen: Vec<String> = seen.map(|(column, value)| format!("{column} {value}")).collect();
    format!("{} {}: {}", of("when").trim_start_matches("2027-02-"), of("on"), seen.join(", "))
}

#[test]
fn sloppy_notes_are_understood_or_asked_about() {
    let table = fs::read_to_string(top().join("tests/fixtures/notes/field.txt")).unwrap();
    let (mut rows, mut wrong) = (0, Vec::new());
    for line in table.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let (note, wanted) = line.split_once(" => ").unwrap();
        rows += 1;
        let told = understood(note);
        let as_wanted = match (&told, wanted.strip_prefix("? ")) {
            (Err(asked), Some(wanted)) => asked.contains(wanted),
            (Ok(rows), None) => rows.join(" / ") == wanted,
            (Err(_), None) | (Ok(_), Some(_)) => false,
        };
        if !as_wanted {
            wrong.push(format!("{note}\n  wanted {wanted}\n  found  {told:?}"));
        }
    }
    assert!(rows >= 60, "{rows}");
    assert!(wrong.is_empty(), "{} of {rows}:\n{}", wrong.len(), wrong.join("\n"));
}
