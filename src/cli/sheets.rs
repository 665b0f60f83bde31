//! Sheets that are kept in the grove folder: their numbers, and that none is ever overwritten.

use super::end::Refusal;
use super::files;
use super::groves::Opened;
use crate::report::OpenSheet;
use crate::sprayday::KeptSheet;
use chrono::NaiveDate;
use std::fs;
use std::io;
use std::path::Path;

/// The folder of the sheets inside a grove folder.
pub const FOLDER: &str = "sheets";

/// Keeps sheets, and returns their numbers. One that is kept already, word for word, keeps its number; `used` is the
/// highest number that the spray log knows.
pub fn keep(grove: &Path, sheets: &[KeptSheet], used: u64) -> Result<Vec<u64>, Refusal> {
    let folder = grove.join(FOLDER);
    let unwritten = |error: &io::Error| Refusal::unwritten(folder.display(), error);
    let mut known = numbers(&folder)?;
    let mut given = Vec::new();
    for sheet in sheets {
        if let Some(number) =
            known.iter().rev().find(|number| !given.contains(*number) && is(&folder, **number, sheet))
        {
            given.push(*number);
            continue;
        }
        fs::create_dir_all(&folder).map_err(|error| unwritten(&error))?;
        let mut number = known.iter().copied().max().unwrap_or(0).max(used) + 1;
        loop {
            match files::write_new(&file(&folder, number), &sheet.text(number)) {
                Ok(()) => break,
                // Another run took this number.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => number += 1,
                Err(error) => {
                    let help = "`--look` shows the plan without keeping it";
                    return Err(unwritten(&error).help(help));
                }
            }
        }
        known.push(number);
        given.push(number);
    }
    Ok(given)
}

/// So many days a sheet that was never written down is asked about: this program's own limit.
const ASKED_FOR: i64 = 14;

/// What a sheet says that was not sprayed.
const NOT_DONE: &str = "done: no";

/// Returns the sheets of days that are over of which the log says nothing, in order of their days.
pub fn open(grove: &Path, read: &Opened) -> Vec<OpenSheet> {
    let folder = folder_of(grove).join(FOLDER);
    let today = read.as_of.date_naive();
    let logged: Vec<&str> =
        read.grove.log.rows().iter().filter_map(|row| row.fields.get("sheet").map(|it| &**it)).collect();
    let is_logged = |number: u64| logged.iter().any(|sheet| sheet.trim().parse() == Ok(number));
    let numbers = numbers(&folder).unwrap_or_default().into_iter().filter(|number| !is_logged(*number));
    let open = numbers.filter_map(|number| {
        let text = fs::read_to_string(file(&folder, number)).ok()?;
        let day: NaiveDate =
            text.lines().find_map(|line| line.strip_prefix("day: "))?.trim_matches('"').parse().ok()?;
        let age = (today - day).num_days();
        let asked = (1..=ASKED_FOR).contains(&age) && !text.lines().any(|line| line == NOT_DONE);
        asked.then_some(OpenSheet { day, number })
    });
    let mut open: Vec<OpenSheet> = open.collect();
    open.sort();
    open
}

/// Keeps of a sheet that it was not sprayed, so that nobody asks again.
pub fn not_done(grove: &Path, number: &str) -> Result<(), Refusal> {
    let path = folder_of(grove).join(FOLDER).join(format!("{number}.yaml"));
    let mut text = files::read(&path, files::RULEBOOK_LIMIT)?;
    if !text.lines().any(|line| line == NOT_DONE) {
        text += NOT_DONE;
        text.push('\n');
        files::replace(&path, &text)?;
    }
    Ok(())
}

fn folder_of(grove: &Path) -> &Path {
    match grove.is_dir() {
        true => grove,
        false => grove.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new(".")),
    }
}

fn file(folder: &Path, number: u64) -> std::path::PathBuf {
    folder.join(format!("{number}.yaml"))
}

fn is(folder: &Path, number: u64, sheet: &KeptSheet) -> bool {
    fs::read_to_string(file(folder, number)).is_ok_and(|text| text == sheet.text(number))
}

/// Returns the numbers of the sheets that are kept in the grove of a folder, in words: `10 to 17, 20`.
pub fn kept(grove: &Path) -> String {
    let numbers = numbers(&grove.join(FOLDER)).unwrap_or_default();
    let runs = numbers.chunk_by(|one, next| one + 1 == *next);
    let words = runs.filter_map(|run| match (run.first()?, run.last()?) {
        (first, last) if first == last => Some(first.to_string()),
        (first, last) => Some(format!("{first} to {last}")),
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Returns the numbers of the sheets that are there, in order.
fn numbers(folder: &Path) -> Result<Vec<u64>, Refusal> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(Refusal::unwritten(folder.display(), &error)),
    };
    let number = |entry: fs::DirEntry| entry.file_name().to_str()?.strip_suffix(".yaml")?.parse().ok();
    let mut numbers: Vec<u64> = entries.filter_map(|entry| number(entry.ok()?)).collect();
    numbers.sort_unstable();
    Ok(numbers)
}
