//! The rules of the house that a compiler does not hold: the order of the layers, who may touch the outside world,
//! how long a file may be, and that what is compiled in is what lies in the folders.

use crate::cli::{folder, ran};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Files that are longer than the rest, each with its reason.
const LONG_FILES: &[(&str, &str)] =
    &[("src/syntax/tree.rs", "the one tree with all its parts, read beside the grammar; declarations only")];

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Returns every file below a folder, sorted.
pub fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files.extend(files_below(&path)) } else { files.push(path) }
    }
    files.sort();
    files
}

/// Returns every file of the library and the program with its layer and its text.
fn sources() -> Vec<(PathBuf, String, String)> {
    let files = files_below(&top().join("src"))
        .into_iter()
        .filter(|path| path.extension().is_some_and(|it| it == "rs"));
    let sources = files.map(|path| {
        let inside = path.strip_prefix(top().join("src")).unwrap();
        let first = inside.components().next().unwrap().as_os_str().to_string_lossy();
        let layer = first.trim_end_matches(".rs").to_owned();
        let text = fs::read_to_string(&path).unwrap();
        (path, layer, text)
    });
    sources.collect()
}

/// Returns a text without comments to the end of a line.
fn code(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

/// Returns the modules that a piece of code takes from the crate, also those in braces.
fn taken(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        let word =
            |text: &str| text.trim().chars().take_while(|it| it.is_alphanumeric() || *it == '_').collect();
        match rest.strip_prefix('{') {
            None => names.push(word(rest)),
            Some(inside) => {
                let mut depth = 1;
                let mut part = String::new();
                for sign in inside.chars() {
                    match sign {
                        '{' => depth += 1,
                        '}' => depth -= 1,
                        _ => {}
                    }
                    if depth == 0 || (depth == 1 && sign == ',') {
                        names.push(word(&part));
                        part.clear();
                    } else {
                        part.push(sign);
                    }
                    if depth == 0 {
                        break;
                    }
                }
            }
        }
    }
    names
}

/// Returns the modules that a file declares, whoever may see them, each with its place in their order.
fn layers(file: &str) -> BTreeMap<String, usize> {
    let text = fs::read_to_string(top().join(file)).unwrap();
    let names = text.lines().filter(|line| !line.starts_with(' ')).filter_map(|line| {
        let (_, name) =
            line.split_once("mod ").filter(|(before, _)| before.is_empty() || before.starts_with("pub"))?;
        name.strip_suffix(';')
    });
    names.enumerate().map(|(at, name)| (name.to_owned(), at)).collect()
}

#[test]
fn a_module_uses_only_modules_above_its_own_line() {
    let layers = layers("src/lib.rs");
    assert!(layers.len() > 10, "src/lib.rs names its layers: {layers:?}");
    let mut wrong = Vec::new();
    for (path, layer, text) in sources() {
        let Some(own) = layers.get(&layer) else {
            assert!(["lib", "main"].contains(&layer.as_str()), "{} is in no layer", path.display());
            continue;
        };
        for name in taken(&code(&text)) {
            if layers.get(&name).is_some_and(|other| other > own) {
                wrong.push(format!("{} uses {name}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "lower layers use higher ones:\n{}", wrong.join("\n"));
}

#[test]
fn a_room_of_proofs_uses_only_rooms_above_its_own_line() {
    let rooms = layers("src/prove/mod.rs");
    assert!(rooms.len() > 5, "src/prove/mod.rs names its rooms: {rooms:?}");
    let mut wrong = Vec::new();
    for (path, ..) in sources().into_iter().filter(|(_, layer, _)| layer == "prove") {
        let inside = path.strip_prefix(top().join("src/prove")).unwrap();
        let room = inside.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
        let Some(own) = rooms.get(&room) else { continue };
        let text = code(&fs::read_to_string(&path).unwrap());
        let used = text
            .split("crate::prove::")
            .skip(1)
            .map(|rest| rest.chars().take_while(|it| it.is_alphanumeric() || *it == '_').collect::<String>());
        wrong.extend(
            used.filter(|it| rooms.get(it).is_some_and(|other| other > own))
                .map(|it| format!("{} uses {it}", path.display())),
        );
    }
    assert!(wrong.is_empty(), "lower rooms use higher ones:\n{}", wrong.join("\n"));
}

#[test]
fn the_search_for_used_modules_finds_them() {
    let code = "use crate::plan::{A, B};\nuse crate::{source::{Span, Id}, units, trace::X};\nlet it = crate::cli::run();";
    assert_eq!(taken(code), ["plan", "source", "units", "trace", "cli"]);
}

#[test]
fn only_the_command_line_touches_the_outside_world() {
    let outside = [
        "std::fs",
        "std::env",
        "std::process",
        "std::net",
        "println!",
        "eprintln!",
        "print!(",
        "Utc::now",
        "Local::now",
        "SystemTime",
        "Instant::now",
    ];
    let mut wrong = Vec::new();
    for (path, layer, text) in sources() {
        if layer != "cli" && layer != "main" {
            // Its own tests may.
            let code = code(text.split("#[cfg(test)]\nmod ").next().unwrap_or_default());
            wrong.extend(
                outside.iter().filter(|it| code.contains(**it)).map(|it| format!("{}: {it}", path.display())),
            );
        }
    }
    assert!(wrong.is_empty(), "below the command line:\n{}", wrong.join("\n"));
}

#[test]
fn no_file_hides_a_second_idea() {
    for (path, _, text) in sources() {
        let inside = path.strip_prefix(top()).unwrap().to_string_lossy().replace('\\', "/");
        let allowed = LONG_FILES.iter().any(|(file, _)| *file == inside);
        let lines = text.lines().count();
        assert!(lines <= 500 || allowed, "{inside} has {lines} lines; look for the second idea");
        assert!(lines > 500 || !allowed, "{inside} is short again; take it from the list");
    }
}

/// Returns the files below a folder by their paths inside it, with their texts.
fn texts_below(folder: &Path) -> BTreeMap<String, String> {
    // A writer leaves its lock beside a log that somebody tried to write to.
    let is_lock = |path: &std::path::PathBuf| path.extension().is_some_and(|extension| extension == "lock");
    let files = files_below(folder).into_iter().filter(|path| !is_lock(path)).map(|path| {
        let inside = path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/");
        (inside, fs::read_to_string(&path).unwrap())
    });
    files.collect()
}

#[test]
fn what_is_compiled_in_is_what_lies_in_the_folders() {
    let made = folder("what_is_compiled_in");
    let (list, _) = ran(&["start", "--list"], 0);
    let rulebooks = texts_below(&top().join("rulebooks"));
    let mut copied: Vec<String> = Vec::new();
    for entry in fs::read_dir(top().join("examples")).unwrap() {
        let example = entry.unwrap().path();
        let name = example.file_name().unwrap().to_str().unwrap();
        assert!(list.contains(&format!("{name}: ")), "{name} is listed");
        let new = made.join(name);
        ran(&["start", new.to_str().unwrap(), "--example", name], 0);
        let mut of_new = texts_below(&new);
        for (path, text) in texts_below(&example) {
            let text = text.replace("../../rulebooks/", "rulebooks/");
            assert_eq!(of_new.remove(&path), Some(text), "{name}/{path}");
        }
        for (path, text) in of_new {
            let inside = path.strip_prefix("rulebooks/").unwrap();
            assert_eq!(rulebooks.get(inside), Some(&text), "{name}/{path}");
            copied.push(inside.to_owned());
        }
    }
    // Every regional rulebook has an example grove that brings it along, with its base.
    for path in rulebooks.keys().filter(|path| path.ends_with(".rulebook") && !path.starts_with("models/")) {
        assert!(copied.contains(path), "{path} comes with no example");
    }
}
