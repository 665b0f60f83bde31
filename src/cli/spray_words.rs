//! What is typed of a spray, and the row of the log that it comes to: from a kept sheet, with what was otherwise.

use super::end::Refusal;
use super::files;
use super::groves::Opened;
use super::sprayed::sheet_file;
use crate::grove::{self, NewRow, NotedPlace};
use crate::units::{clean, spoken};
use chrono::{DateTime, Duration, NaiveDate, NaiveTime};
use chrono_tz::Tz;
use serde::Deserialize;
use std::path::Path;

/// What is typed of a spray.
#[derive(clap::Args, Debug)]
pub struct SprayWords {
    /// The number of the crew's sheet by which it was sprayed; what else is typed goes before what the sheet says
    #[arg(long, value_name = "NUMBER")]
    sheet: Option<String>,
    /// The trees: A01-A15,C03, a block, terrace/Kent or grove
    #[arg(long, value_name = "TREES")]
    on: Option<String>,
    /// The trees of them that were not sprayed
    #[arg(long, value_name = "TREES")]
    except: Option<String>,
    /// The product by its word in the rulebook; parts of a mix with `with` between them; `none` strikes a row out
    #[arg(long, value_name = "PRODUCT")]
    pub(super) product: Option<String>,
    /// The jug, by its name in the shed [default: the first of the product]
    #[arg(long, value_name = "NAME")]
    jug: Option<String>,
    /// The registration on the label [default: the jug's]
    #[arg(long, value_name = "NUMBER")]
    registration: Option<String>,
    /// The strength, by its name in the rulebook
    #[arg(long, value_name = "STRENGTH")]
    strength: Option<String>,
    /// The rate in figures: `2 lb / 100 gal`, `600 ppm copper`
    #[arg(long, value_name = "RATE", num_args = 1..=6)]
    rate: Option<Vec<String>>,
    /// How much spray went out: `25 gal`, `150 gal/ac`
    #[arg(long, value_name = "VOLUME", num_args = 1..=2)]
    volume: Option<Vec<String>>,
    /// The land that was sprayed [default: that of the trees]
    #[arg(long, value_name = "AREA", num_args = 1..=2)]
    area: Option<Vec<String>>,
    /// The day [default: the sheet's, else today]
    #[arg(long, value_name = "DAY")]
    day: Option<String>,
    /// When it began: `05:30`, or with its day
    #[arg(long, value_name = "TIME")]
    start: Option<String>,
    /// When it ended
    #[arg(long, value_name = "TIME")]
    end: Option<String>,
    /// The stage of bloom
    #[arg(long, value_name = "STAGE")]
    stage: Option<String>,
    /// Against what
    #[arg(long, value_name = "TROUBLE")]
    target: Option<String>,
    /// The wind, with its direction if you like: `4 mph`
    #[arg(long, value_name = "WIND", num_args = 1..=3)]
    wind: Option<Vec<String>>,
    /// The temperature: `68 °F`
    #[arg(long, value_name = "TEMPERATURE", num_args = 1..=2, allow_negative_numbers = true)]
    temperature: Option<Vec<String>>,
    /// Who sprayed
    #[arg(long, value_name = "NAME")]
    operator: Option<String>,
    /// The number of the operator's certificate
    #[arg(long, value_name = "NUMBER")]
    certificate: Option<String>,
    /// What else should be remembered
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// The row that this one stands in for, by its line in the log, or `sheet NUMBER`
    #[arg(long, value_name = "ROW")]
    corrects: Option<String>,
}

/// A sheet as `sprayday` keeps it; what else it says is not read.
#[derive(Deserialize, Default, Debug)]
struct Sheet {
    day: Option<String>,
    product: Option<String>,
    jug: Option<String>,
    registration: Option<String>,
    strength: Option<String>,
    rate: Option<String>,
    volume: Option<String>,
    area: Option<String>,
    start: Option<String>,
    end: Option<String>,
    target: Option<String>,
    #[serde(default)]
    trees: Vec<String>,
}

impl SprayWords {
    /// Returns the row of the log, with remarks on what was taken for granted.
    pub fn row(&self, read: &Opened, grove: &Path) -> Result<(NewRow, Vec<String>), Refusal> {
        let mut remarks = Vec::new();
        if self.product.as_deref() == Some("none") {
            return self.striking_out().map(|row| (row, remarks));
        }
        let sheet = match &self.sheet {
            Some(number) => self.kept(number, grove)?,
            None => Sheet::default(),
        };
        let (place, share) = self.place(read, &sheet)?;
        let (start, end) = self.times(read, &sheet, &mut remarks)?;
        let product =
            self.product.clone().or(sheet.product.clone()).ok_or_else(|| missing("--product", "copper"))?;
        let same_product = self.product.is_none() || self.product == sheet.product;
        let of_sheet = |value: &Option<String>| value.clone().filter(|_| same_product);
        let joined = |words: &Option<Vec<String>>| words.as_ref().map(|words| words.join(" "));
        let (strength, rate) = match (&self.strength, joined(&self.rate)) {
            (None, None) => (of_sheet(&sheet.strength), of_sheet(&sheet.rate)),
            (strength, rate) => (strength.clone(), rate),
        };
        if strength.is_none() && rate.is_none() {
            return Err(missing("--strength", "reduced"));
        }
        // The rate stands in the rulebook: the name of the strength is enough, and says which it was.
        let rate = rate.filter(|_| strength.is_none() || self.rate.is_some());
        let (jug, registration) = self.jugs(read, &product, &sheet, same_product);
        let scaled = |value: Option<String>, what: &str, remarks: &mut Vec<String>| match (value, share) {
            (Some(value), Some(share)) => scaled(&value, share, what, remarks),
            (value, _) => value,
        };
        let volume = joined(&self.volume).or_else(|| scaled(sheet.volume.clone(), "volume", &mut remarks));
        // Where trees were left out the land is that of the others, which the log knows by itself.
        let area = joined(&self.area).or_else(|| sheet.area.clone().filter(|_| share.is_none()));
        let row = [
            ("start", Some(start)),
            ("end", Some(end)),
            ("on", Some(place.on)),
            ("product", Some(product)),
            ("jug", jug),
            ("registration", registration),
            ("strength", strength),
            ("rate", rate),
            ("volume", volume),
            ("area", area),
            ("stage", self.stage.clone()),
            ("target", self.target.clone().or(of_sheet(&sheet.target))),
            ("wind", joined(&self.wind)),
            ("temperature", joined(&self.temperature)),
            ("operator", self.operator.clone()),
            ("certificate", self.certificate.clone()),
            ("sheet", self.sheet.clone()),
            ("note", self.note.clone()),
            ("corrects", self.corrects.clone()),
        ];
        let row = row.into_iter().filter_map(|(column, value)| Some((column.to_string(), value?))).collect();
        Ok((row, remarks))
    }

    /// Returns the moment for which the log is read: that of the advice, or the end of the spray, if that is later.
    pub fn as_of(&self, row: &NewRow, read: &Opened, fixed: bool) -> Result<String, Refusal> {
        let end = row.iter().find(|(column, _)| column == "end").map(|(_, end)| end.as_str());
        let end = end.and_then(|end| read.outline.moment(end).ok());
        let is_now = !fixed && read.outline.as_of.is_none();
        match end {
            Some(end) if end > read.as_of && is_now => {
                let refusal =
                    Refusal::new(format!("the spray ends at {}, which is still to come", iso(&end)));
                Err(refusal.help("write it down when it is done"))
            }
            Some(end) if end > read.as_of => Ok(iso(&end)),
            Some(_) | None => Ok(iso(&read.as_of)),
        }
    }

    fn striking_out(&self) -> Result<NewRow, Refusal> {
        let Some(corrects) = &self.corrects else { return Err(missing("--corrects", "12")) };
        let row = [
            ("product", Some("none".to_string())),
            ("corrects", Some(corrects.clone())),
            ("operator", self.operator.clone()),
            ("note", self.note.clone()),
        ];
        Ok(row.into_iter().filter_map(|(column, value)| Some((column.to_string(), value?))).collect())
    }

    fn kept(&self, number: &str, grove: &Path) -> Result<Sheet, Refusal> {
        let file = sheet_file(grove, number);
        if number.is_empty() || !number.bytes().all(|sign| sign.is_ascii_alphanumeric() || sign == b'-') {
            return Err(Refusal::new(format!("`{number}` is not the number of a sheet")));
        }
        let text = files::read(&file, files::RULEBOOK_LIMIT).map_err(|refusal| {
            let help =
                "`bloomward sprayday` keeps its sheets there; without one, say what was sprayed by hand";
            Refusal { help: refusal.help.or(Some(help.to_string())), ..refusal }
        })?;
        serde_yaml::from_str(&text).map_err(|error| {
            let first = error.to_string();
            let first = first.lines().next().unwrap_or_default().to_string();
            Refusal::new(format!("`{}` cannot be read as a sheet: {first}", file.display()))
                .help("say what was sprayed by hand, with `--product`, `--on`, `--start` and `--end`")
        })
    }

    /// Returns the trees; and which share of the sheet's they are, where some were left out.
    fn place(&self, read: &Opened, sheet: &Sheet) -> Result<(NotedPlace, Option<f64>), Refusal> {
        let named = |flag: &str, text: &str| {
            grove::place_of(text, &read.grove)
                .map_err(|(message, help)| Refusal { message: format!("{flag}: {message}"), help })
        };
        let whole = match &self.on {
            Some(on) => named("--on", on)?,
            None if sheet.trees.is_empty() => return Err(missing("--on", "A01-A15")),
            None => {
                let found: Result<Vec<usize>, Refusal> = sheet
                    .trees
                    .iter()
                    .map(|tree| {
                        read.grove.trees.find(tree).ok_or_else(|| {
                            Refusal::new(format!(
                                "the sheet names the tree `{tree}`, which the grove does not have"
                            ))
                            .help("say the trees with `--on`")
                        })
                    })
                    .collect();
                let mut found = found?;
                found.sort_unstable();
                grove::place_of_trees(&found, &read.grove)
            }
        };
        let Some(except) = &self.except else { return Ok((whole, None)) };
        let out = named("--except", except)?.trees;
        if let Some(stranger) = out.iter().find(|tree| !whole.trees.contains(tree)) {
            let name = read.grove.trees.name(*stranger);
            let message = format!("--except: `{name}` was not among the trees to spray");
            return Err(Refusal::new(message).help(format!("the trees are {}", whole.on)));
        }
        let rest: Vec<usize> = whole.trees.iter().copied().filter(|tree| !out.contains(tree)).collect();
        if rest.is_empty() {
            let refusal = Refusal::new("--except: then no tree was sprayed");
            return Err(refusal.help("what was not sprayed is not written down"));
        }
        let share = rest.len() as f64 / whole.trees.len() as f64;
        Ok((grove::place_of_trees(&rest, &read.grove), Some(share).filter(|_| self.on.is_none())))
    }

    fn times(
        &self,
        read: &Opened,
        sheet: &Sheet,
        remarks: &mut Vec<String>,
    ) -> Result<(String, String), Refusal> {
        let planned = |text: &Option<String>| text.as_ref().and_then(|text| read.outline.moment(text).ok());
        let (planned_start, planned_end) = (planned(&sheet.start), planned(&sheet.end));
        let day = match (&self.day, planned_start) {
            (Some(day), _) => day.parse::<NaiveDate>().map_err(|_| {
                Refusal::new(format!("--day: `{day}` is not a date")).help("write `--day 2027-02-11`")
            })?,
            (None, Some(start)) => start.date_naive(),
            (None, None) => {
                sheet.day.as_ref().and_then(|day| day.parse().ok()).unwrap_or(read.as_of.date_naive())
            }
        };
        let on_day = |text: &str, day: NaiveDate| match text.parse::<NaiveTime>() {
            Ok(_) => format!("{day}T{text}"),
            Err(_) => text.to_string(),
        };
        let start = match (&self.start, planned_start) {
            (Some(text), _) => on_day(text, day),
            (None, Some(start)) if self.day.is_none() => iso(&start),
            (None, _) => return Err(missing("--start", "05:30")),
        };
        let end = match (&self.end, planned_end) {
            (Some(text), _) => {
                let began = start.get(..10).and_then(|date| date.parse().ok()).unwrap_or(day);
                let end = on_day(text, began);
                overnight(read, &start, end, text)
            }
            (None, Some(end)) if self.start.is_none() && self.day.is_none() => iso(&end),
            (None, _) => return Err(missing("--end", "07:10")),
        };
        if self.sheet.is_some() && self.start.is_none() && self.end.is_none() {
            remarks.push("The hours are those that the sheet planned; `--start` and `--end` say it if they were others.".into());
        }
        Ok((start, end))
    }

    /// Returns the jugs and registrations: as typed, of the sheet, or the first jug of each product.
    fn jugs(
        &self,
        read: &Opened,
        product: &str,
        sheet: &Sheet,
        same: bool,
    ) -> (Option<String>, Option<String>) {
        let products: Vec<&str> = product.split(" with ").map(str::trim).collect();
        let shed = &read.grove.shed;
        let named = self.jug.as_ref().map(|jugs| jugs.split(" with ").map(str::trim).collect::<Vec<_>>());
        let found = products.iter().enumerate().map(|(at, product)| {
            let wanted = named.as_ref().and_then(|named| named.get(at).copied());
            shed.iter().find(|jug| &*jug.word == *product && wanted.is_none_or(|name| *jug.name == *name))
        });
        let found: Option<Vec<_>> = found.collect();
        let of_shed = |of: &dyn Fn(&grove::Jug) -> Option<String>| -> Option<String> {
            let all: Option<Vec<String>> = found.as_ref()?.iter().map(|jug| of(jug)).collect();
            all.map(|all| all.join(" with "))
        };
        let of_sheet = |value: &Option<String>| value.clone().filter(|_| same && self.jug.is_none());
        let jug =
            self.jug.clone().or(of_sheet(&sheet.jug)).or_else(|| of_shed(&|jug| Some(jug.name.to_string())));
        let number = |jug: &grove::Jug| jug.registration.as_ref().map(|it| it.to_string());
        let registration =
            self.registration.clone().or(of_sheet(&sheet.registration)).or_else(|| of_shed(&number));
        (jug, registration)
    }
}

/// A spray that ends before it begins, by the clock of one day, ended on the next.
fn overnight(read: &Opened, start: &str, end: String, typed: &str) -> String {
    let (Ok(begun), Ok(ended)) = (read.outline.moment(start), read.outline.moment(&end)) else { return end };
    let next = begun.date_naive().succ_opt().map(|day| format!("{day}T{typed}"));
    let later = next.filter(|next| {
        let moment = read.outline.moment(next);
        ended < begun && moment.is_ok_and(|moment| moment - begun < Duration::hours(12))
    });
    later.unwrap_or(end)
}

/// Scales a planned amount to the trees that were sprayed.
fn scaled(value: &str, share: f64, what: &str, remarks: &mut Vec<String>) -> Option<String> {
    let said = spoken::parse(value).ok()?;
    if said.per_tree || said.unit.symbol.contains('/') {
        return Some(value.to_string());
    }
    let number = clean((said.number * share * 1e4).round() / 1e4);
    let scaled = format!("{number} {}", said.unit.symbol);
    remarks.push(format!(
        "The {what} is the sheet's {value}, less that of the trees left out: {scaled}; `--{what}` says it if it was another."
    ));
    Some(scaled)
}

fn missing(flag: &str, example: &str) -> Refusal {
    Refusal::new(format!("`{flag}` is missing"))
        .help(format!("write `{flag} {example}`, or name the sheet: `--sheet 12`"))
}

/// Writes a moment with its offset, which is clear in every night.
fn iso(moment: &DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}
