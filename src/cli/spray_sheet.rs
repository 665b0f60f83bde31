//! A kept sheet, from which the row of a spray is taken, and what its amounts come to on other trees than it planned.

use super::end::Refusal;
use super::files;
use super::groves::Opened;
use super::sheets;
use crate::phrase::said;
use crate::units::{clean, spoken};
use crate::words::Language;
use serde::Deserialize;
use std::path::Path;

/// A sheet as `sprayday` keeps it; what else it says is not read.
#[derive(Deserialize, Default, Debug)]
pub struct KeptSheet {
    pub day: Option<String>,
    pub product: Option<String>,
    pub jug: Option<String>,
    pub registration: Option<String>,
    pub strength: Option<String>,
    pub rate: Option<String>,
    pub volume: Option<String>,
    pub area: Option<String>,
    pub start: Option<String>,
    pub end: Option<String>,
    pub target: Option<String>,
    #[serde(default)]
    pub trees: Vec<String>,
}

impl KeptSheet {
    /// Reads the sheet of a number.
    pub fn of(number: &str, grove: &Path) -> Result<Self, Refusal> {
        if number.is_empty() || !number.bytes().all(|sign| sign.is_ascii_alphanumeric() || sign == b'-') {
            return Err(Refusal::new(said!("`{number}` is not the number of a sheet", number)));
        }
        let folder = if grove.is_dir() { grove } else { grove.parent().unwrap_or(Path::new("")) };
        let file = folder.join(sheets::FOLDER).join(format!("{number}.yaml"));
        if !file.exists() {
            let help = match sheets::kept(folder) {
                kept if kept.is_empty() => {
                    "`bloomward sprayday` makes sheets and keeps them; without one, say what was \
                                            sprayed by hand"
                        .into()
                }
                kept => {
                    said!(
                        "the sheets of this grove are {kept}; without one, say what was sprayed by hand",
                        kept
                    )
                }
            };
            return Err(Refusal::new(said!("there is no sheet {number}", number)).help(help));
        }
        let text = files::read(&file, files::RULEBOOK_LIMIT)?;
        serde_yaml::from_str(&text).map_err(|error| {
            let first = error.to_string();
            let first = first.lines().next().unwrap_or_default().to_string();
            Refusal::new(said!("`{file}` cannot be read as a sheet: {first}", first, file = file.display()))
                .help("say what was sprayed by hand, with `--product`, `--on`, `--start` and `--end`")
        })
    }

    /// Returns its trees, in walking order.
    pub fn places(&self, read: &Opened) -> Result<Vec<usize>, Refusal> {
        let found: Result<Vec<usize>, Refusal> = self
            .trees
            .iter()
            .map(|tree| {
                let message = said!("the sheet names the tree `{tree}`, which the grove does not have", tree);
                let found = read.grove.trees.find(tree);
                found.ok_or_else(|| Refusal::new(message).help("say the trees with `--on`"))
            })
            .collect();
        let mut found = found?;
        found.sort_unstable();
        Ok(found)
    }

    /// Returns its volume for the trees that were sprayed, where they are not those that it planned.
    pub fn volume_on(
        &self,
        sprayed: &[usize],
        planned: &[usize],
        read: &Opened,
        language: Language,
        remarks: &mut Vec<String>,
    ) -> Option<String> {
        let value = self.volume.as_ref()?;
        if sprayed == planned || planned.is_empty() {
            return Some(value.clone());
        }
        // What cannot be read is not scaled: the log says what is wrong with it.
        let Ok(said) = spoken::parse(value) else { return Some(value.clone()) };
        if said.per_tree || said.unit.symbol.contains('/') {
            return Some(value.clone());
        }
        let number = clean((said.number * share(sprayed, planned, read) * 1e4).round() / 1e4);
        let scaled = format!("{number} {}", said.unit.symbol);
        let (trees, own) = (planned.len().to_string(), sprayed.len().to_string());
        let words = [("planned", &**value), ("trees", &trees), ("sprayed", &own), ("volume", &scaled)];
        remarks.push(language.say("logged.volume", &words));
        Some(scaled)
    }
}

/// Returns how much of the planned spray some trees take: by what the sprayer gives each, else by their number.
fn share(sprayed: &[usize], planned: &[usize], read: &Opened) -> f64 {
    let sprayer = read.grove.sprayer.as_ref();
    let of = |trees: &[usize]| -> Option<f64> {
        trees.iter().map(|tree| sprayer?.volume_per_tree(read.grove.block_of(*tree)?)).sum()
    };
    match (of(sprayed), of(planned)) {
        (Some(sprayed), Some(planned)) if planned > 0.0 => sprayed / planned,
        _ => sprayed.len() as f64 / planned.len() as f64,
    }
}
