//! What is typed of a spray, and the row of the log that it comes to: from a kept sheet, with what was otherwise.

use super::end::Refusal;
use super::groves::Opened;
use super::pasted::{in_words_of, unquoted, word_of};
use super::spray_sheet::KeptSheet;
use super::spray_taken::Taken;
use super::spray_times::{self, Times, Typed, iso};
use crate::grove::{self, NewRow, NotedPlace, is_midnight};
use crate::phrase::said;
use crate::plan::Plan;
use crate::problems::nearest;
use crate::report::noted::day_doubt_words;
use crate::report::{GroveTrees, ranges_in};
use crate::words::{Language, Words};
use chrono::{DateTime, Duration};
use chrono_tz::Tz;
use std::collections::BTreeSet;
use std::path::Path;

/// What is typed of a spray.
#[derive(clap::Args, Debug)]
pub struct SprayWords {
    /// The number of the crew's sheet by which it was sprayed; anything typed here overrides the sheet
    #[arg(long, value_name = "NUMBER", value_parser = unquoted)]
    sheet: Option<String>,
    /// The trees: A01-A15,C03, row b, a block, terrace/Kent or grove
    #[arg(long, value_name = "TREES", value_parser = unquoted, num_args = 1..)]
    on: Option<Vec<String>>,
    /// The trees of them that were not sprayed
    #[arg(long, value_name = "TREES", value_parser = unquoted, num_args = 1..)]
    except: Option<Vec<String>>,
    /// The product's name in the rulebook; parts of a mix with `with` between them; `none` strikes a row out
    #[arg(long, value_name = "PRODUCT", value_parser = unquoted)]
    pub(super) product: Option<String>,
    /// The jug, by its name in the shed [default: the first of the product]
    #[arg(long, value_name = "NAME", value_parser = unquoted)]
    jug: Option<String>,
    /// The registration on the label [default: the jug's]
    #[arg(long, value_name = "NUMBER", value_parser = unquoted)]
    registration: Option<String>,
    /// The strength, by its name in the rulebook
    #[arg(long, value_name = "STRENGTH", value_parser = unquoted)]
    strength: Option<String>,
    /// The rate in figures: `2 lb / 100 gal`, `600 ppm copper`
    #[arg(long, value_name = "RATE", value_parser = unquoted, num_args = 1..=6)]
    rate: Option<Vec<String>>,
    /// How much spray went out: `25 gal`, `150 gal/ac`
    #[arg(long, value_name = "VOLUME", value_parser = unquoted, num_args = 1..=2)]
    volume: Option<Vec<String>>,
    /// The land that was sprayed [default: that of the trees]
    #[arg(long, value_name = "AREA", value_parser = unquoted, num_args = 1..=2)]
    area: Option<Vec<String>>,
    /// The day: `2027-02-11`, `11 feb`, `sat`, `yesterday` [default: the sheet's, else today]
    #[arg(long, value_name = "DAY", value_parser = unquoted)]
    day: Option<String>,
    /// When it began: `05:30`, `7pm`, or with its day
    #[arg(long, value_name = "TIME", value_parser = unquoted, num_args = 1..=4)]
    start: Option<Vec<String>>,
    /// When it ended
    #[arg(long, value_name = "TIME", value_parser = unquoted, num_args = 1..=4)]
    end: Option<Vec<String>>,
    /// The stage of bloom
    #[arg(long, value_name = "STAGE", value_parser = unquoted)]
    stage: Option<String>,
    /// Against what
    #[arg(long, value_name = "DISEASE", value_parser = unquoted)]
    target: Option<String>,
    /// The wind, with its direction if you like: `4 mph`
    #[arg(long, value_name = "WIND", value_parser = unquoted, num_args = 1..=3)]
    wind: Option<Vec<String>>,
    /// The temperature: `68 °F`
    #[arg(long, value_name = "TEMPERATURE", value_parser = unquoted, num_args = 1..=2, allow_negative_numbers = true)]
    temperature: Option<Vec<String>>,
    /// The humidity of the air: `65 %`
    #[arg(long, value_name = "HUMIDITY", value_parser = unquoted, num_args = 1..=2)]
    humidity: Option<Vec<String>>,
    /// Who sprayed
    #[arg(long, value_name = "NAME", value_parser = unquoted)]
    operator: Option<String>,
    /// The number of the operator's certificate
    #[arg(long, value_name = "NUMBER", value_parser = unquoted)]
    certificate: Option<String>,
    /// What else should be remembered
    #[arg(long, value_name = "TEXT", value_parser = unquoted)]
    note: Option<String>,
    /// The row that this one stands in for, by its line in the log, or `sheet NUMBER`; what is not said anew is taken over
    #[arg(long, value_name = "ROW", value_parser = unquoted)]
    corrects: Option<String>,
}

/// What was typed of a spray, understood.
#[derive(Debug)]
pub struct TypedSpray {
    /// The row of the log.
    pub row: NewRow,
    /// What was taken for granted.
    pub remarks: Vec<String>,
    /// What should be looked at twice.
    pub doubts: Vec<String>,
}

impl SprayWords {
    /// Returns the stage in the rulebook's word.
    fn stage_in(&self, plan: &Plan) -> Result<Option<String>, Refusal> {
        let stages: BTreeSet<&str> =
            plan.word_lists.iter().flat_map(|list| &list.words).map(|word| &*word.name).collect();
        self.stage.as_ref().map(|said| word_of(plan, said, stages).map(str::to_owned)).transpose()
    }

    /// Returns the diseases in the rulebook's words.
    fn targets_in(&self, plan: &Plan) -> Result<Option<String>, Refusal> {
        let Some(said) = &self.target else { return Ok(None) };
        let diseases = || plan.diseases.iter().map(|disease| &*disease.name);
        let words: Result<Vec<&str>, Refusal> =
            said.split(',').map(|word| word_of(plan, word, diseases())).collect();
        Ok(Some(words?.join(", ")))
    }

    /// Returns the number of the sheet.
    pub fn number(&self) -> Option<&str> {
        self.sheet.as_deref()
    }

    /// Returns the row that it stands in for, as typed.
    pub fn corrected(&self) -> Option<&str> {
        self.corrects.as_deref()
    }

    /// Returns whether it only strikes out another row.
    pub fn strikes_out(&self) -> bool {
        self.product.as_deref() == Some("none")
    }

    /// Returns the row of the log, with what was taken for granted; `taken` is the row that it corrects, if one counts.
    pub fn said(
        &self,
        read: &Opened,
        taken: Option<Taken<'_>>,
        grove: &Path,
        language: Language,
    ) -> Result<TypedSpray, Refusal> {
        let (mut remarks, mut doubts) = (Vec::new(), Vec::new());
        if self.strikes_out() {
            return self.striking_out().map(|row| TypedSpray { row, remarks, doubts });
        }
        // A correction takes over what is not said anew; a sheet that is named goes before the row.
        let sheet = match (&self.sheet, taken) {
            (Some(number), _) => KeptSheet::of(number, grove)?,
            (None, Some(taken)) => taken.sheet(read),
            (None, None) => KeptSheet::default(),
        };
        let own = |said: Option<String>, column: &str| said.or_else(|| taken?.own(column));
        let products = read.plan.products.iter().map(|product| &*product.name);
        let words = |_: usize| products.clone().collect();
        let typed =
            self.product.as_ref().map(|product| in_words_of(&read.plan, product, words)).transpose()?;
        let same_product = typed.is_none() || typed == sheet.product;
        let product = typed.or(sheet.product.clone()).unwrap_or_default();
        let of_sheet = |value: &Option<String>| value.clone().filter(|_| same_product);
        let (strength, rate) = match (&self.strength, joined(&self.rate)) {
            (None, None) => (of_sheet(&sheet.strength), of_sheet(&sheet.rate)),
            (strength, rate) => {
                (strength.as_ref().map(|said| strengths_of(said, &product, read)).transpose()?, rate)
            }
        };
        let mut wrong: Vec<Refusal> = self
            .whole(&sheet, !product.is_empty(), strength.is_some() || rate.is_some())
            .err()
            .into_iter()
            .collect();
        let planned = sheet.places(read).unwrap_or_else(|refusal| {
            wrong.push(refusal);
            Vec::new()
        });
        let place = if self.on.is_some() || !planned.is_empty() {
            self.place(read, &planned).map_err(|refusal| wrong.push(refusal)).ok()
        } else {
            None
        };
        wrong.extend(self.strange_product(read, &product));
        wrong.extend(self.strange_strength(read, &product, strength.as_deref()));
        let (start, end) = (joined(&self.start), joined(&self.end));
        let typed = Typed { day: self.day.as_deref(), start: start.as_deref(), end: end.as_deref() };
        let is_timed = self.has_start(&sheet) && self.has_end(&sheet);
        let times = if is_timed {
            spray_times::times(typed, &sheet, read).map_err(|refusals| wrong.extend(refusals)).ok()
        } else {
            None
        };
        let air = [("wind", &self.wind), ("temperature", &self.temperature), ("humidity", &self.humidity)];
        wrong.extend(air.into_iter().filter_map(|(column, said)| {
            let (message, help) = grove::air_trouble(column, &joined(said)?)?;
            Some(Refusal::of(said!("--{flag}: {message}", flag = column, message), help))
        }));
        let (place, Times { start, end, doubt }) = match (Refusal::all(wrong), place, times) {
            (None, Some(place), Some(times)) => (place, times),
            (Some(refusal), ..) => return Err(refusal),
            (None, ..) => return Err(Refusal::new("give the trees and the hours of the spray")),
        };
        let words = Words { language, speech: super::speech(read), plan: &read.plan };
        doubts.extend(doubt.map(|(day, doubt)| day_doubt_words(day, doubt, words)));
        let midnight =
            [&self.start, &self.end].into_iter().filter_map(joined).filter(|text| is_midnight(text));
        doubts.extend(midnight.map(|text| language.say("logged.midnight", &[("text", &text)])));
        if self.sheet.is_some() && self.start.is_none() && self.end.is_none() {
            remarks.push(language.say("logged.hours", &[]));
        }
        // The name of a strength says how much only as long as the rulebook stays as it is: the log keeps the figures too.
        let rate = rate.or_else(|| self.rate_of(read, &product, strength.as_deref()?));
        let (jug, registration) = self.jugs(read, &product, &sheet, same_product);
        doubts.extend(self.jug.as_ref().and_then(|jugs| strange_jugs(jugs, &product, read, language)));
        doubts.extend(self.mistyped(read, language));
        let strange: Vec<usize> =
            place.trees.iter().copied().filter(|tree| !planned.contains(tree)).collect();
        if let Some(sheet) = self.sheet.as_ref().filter(|_| !strange.is_empty()) {
            let ground = GroveTrees { plan: &read.plan, grove: &read.grove };
            let places = [
                ("trees", &*language.trees(strange.len())),
                ("list", &ranges_in(language, &ground, &strange)),
                ("sheet", sheet),
            ];
            doubts.push(language.say("logged.not-on-sheet", &places));
        }
        let volume = joined(&self.volume)
            .or_else(|| sheet.volume_on(&place.trees, &planned, read, language, &mut remarks));
        // On other trees than the sheet planned the land is theirs, which the log knows by itself.
        let area = joined(&self.area).or_else(|| sheet.area.clone().filter(|_| place.trees == planned));
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
            ("stage", own(self.stage_in(&read.plan)?, "stage")),
            ("target", self.targets_in(&read.plan)?.or(of_sheet(&sheet.target))),
            ("wind", own(joined(&self.wind), "wind")),
            ("temperature", own(joined(&self.temperature), "temperature")),
            ("humidity", own(joined(&self.humidity), "humidity")),
            ("operator", own(self.operator.clone(), "operator")),
            ("certificate", own(self.certificate.clone(), "certificate")),
            ("sheet", own(self.sheet.clone(), "sheet")),
            ("note", own(self.note.clone(), "note")),
            ("corrects", self.corrects.clone()),
        ];
        let row: NewRow =
            row.into_iter().filter_map(|(column, value)| Some((column.to_string(), value?))).collect();
        if let Some(taken) = taken {
            let (line, columns) = (taken.line.to_string(), taken.kept_in(&row).join(", "));
            remarks.push(language.say("logged.taken", &[("line", &line), ("columns", &columns)]));
        }
        Ok(TypedSpray { row, remarks, doubts })
    }

    /// Returns the moment for which the log is read: that of the advice, or the latest end of a spray, if that is later.
    /// Where the moment is now, no spray lies ahead of it.
    pub fn as_of(&self, row: &NewRow, read: &Opened, fixed: bool) -> Result<String, Refusal> {
        let end = row.iter().find(|(column, _)| column == "end").map(|(_, end)| end.as_str());
        let end = end.and_then(|end| read.outline.moment(end).ok());
        let is_now = !fixed && read.outline.as_of.is_none();
        if let Some(end) = end.filter(|end| is_now && *end > read.as_of) {
            let refusal =
                Refusal::new(said!("the spray ends at {end}, which is still to come", end = iso(&end)));
            return Err(refusal.help("write it down when it is done"));
        }
        let logged = last_ahead(read).filter(|_| !is_now || self.corrects.is_some());
        let latest = [Some(read.as_of), end, logged].into_iter().flatten().max().unwrap_or(read.as_of);
        Ok(latest.format("%Y-%m-%dT%H:%M:%S%:z").to_string())
    }

    fn striking_out(&self) -> Result<NewRow, Refusal> {
        let Some(corrects) = &self.corrects else { return Err(missing(&[("--corrects", "12")])) };
        let row = [
            ("product", Some("none".to_string())),
            ("corrects", Some(corrects.clone())),
            ("operator", self.operator.clone()),
            ("note", self.note.clone()),
        ];
        Ok(row.into_iter().filter_map(|(column, value)| Some((column.to_string(), value?))).collect())
    }

    /// Reports all that is missing, in one go.
    fn whole(&self, sheet: &KeptSheet, has_product: bool, has_amount: bool) -> Result<(), Refusal> {
        let needed = [
            (self.on.is_some() || !sheet.trees.is_empty(), "--on", "A01-A15"),
            (has_product, "--product", "copper"),
            (has_amount, "--strength", "reduced"),
            (self.has_start(sheet), "--start", "05:30"),
            (self.has_end(sheet), "--end", "07:10"),
        ];
        let lacking: Vec<_> =
            needed.into_iter().filter(|(has, ..)| !has).map(|(_, flag, words)| (flag, words)).collect();
        if lacking.is_empty() { Ok(()) } else { Err(missing(&lacking)) }
    }

    /// Says which stage or trouble is nearly, but not quite, a word of the rulebook; other words are the grower's own.
    fn mistyped(&self, read: &Opened, language: Language) -> Vec<String> {
        let stages = || read.plan.word_lists.iter().flat_map(|list| &list.words).map(|word| &*word.name);
        let troubles = || read.plan.diseases.iter().map(|disease| &*disease.name);
        let near = |said: &str, words: Vec<&str>| {
            let word = said.trim().to_lowercase().replace(' ', "-");
            let known = !read.plan.typed(said, words.iter().copied()).is_empty();
            let near = if known { None } else { nearest(&word, words) }?;
            Some(language.say("logged.near", &[("said", said.trim()), ("near", near)]))
        };
        let stage = self.stage.iter().filter_map(|stage| near(stage, stages().collect()));
        let targets = self.target.iter().flat_map(|target| target.split(','));
        stage.chain(targets.filter_map(|target| near(target, troubles().collect()))).collect()
    }

    // The hours of a sheet hold together, and for its day.
    fn has_start(&self, sheet: &KeptSheet) -> bool {
        self.start.is_some() || (sheet.start.is_some() && self.day.is_none())
    }

    fn has_end(&self, sheet: &KeptSheet) -> bool {
        self.end.is_some() || (sheet.end.is_some() && self.start.is_none() && self.day.is_none())
    }

    /// Says which product the rulebook does not know, where no registration says what it is.
    fn strange_product(&self, read: &Opened, product: &str) -> Option<Refusal> {
        let known = |word: &str| {
            read.plan.product(word).is_some() || read.grove.shed.iter().any(|jug| &*jug.word == word)
        };
        let parts = product.split(" with ").map(str::trim).filter(|word| !word.is_empty());
        let word = parts.into_iter().find(|word| !known(word) && self.registration.is_none())?;
        let words = || read.plan.products.iter().map(|product| &*product.name);
        let help = match nearest(word, words()) {
            Some(near) => {
                said!("did you mean `{near}`? Another product is logged with its `--registration`", near)
            }
            None => said!(
                "the rulebook has {words}; another product is logged with its `--registration`",
                words = words().collect::<Vec<_>>().join(", ")
            ),
        };
        let message = said!("--product: `{word}` is not a product of this rulebook", word);
        Some(Refusal::new(message).help(help))
    }

    /// Says which strength that was typed its product does not have.
    fn strange_strength(&self, read: &Opened, product: &str, strength: Option<&str>) -> Option<Refusal> {
        self.strength.as_ref()?;
        let (products, typed) = (product.split(" with "), strength?.split(" with "));
        let (product, typed) = products.zip(typed).find_map(|(word, typed)| {
            let product = &read.plan[read.plan.product(word.trim())?];
            let is = |strength: &crate::plan::Strength| &*strength.name == typed.trim();
            let known = product.strengths.iter().any(is) || grove::is_rate(typed.trim(), None);
            (!known).then_some((product, typed.trim()))
        })?;
        let names = || product.strengths.iter().map(|strength| &*strength.name);
        let all = names().collect::<Vec<_>>().join(", ");
        let help = match nearest(typed, names()) {
            _ if self.rate.is_some() => {
                said!("leave `--strength` out: `--rate` says how much it was; its strengths are {all}", all)
            }
            Some(near) => said!("did you mean `{near}`? Its strengths are {all}", near, all),
            None => {
                let weakest = product.strengths.first();
                let figures = weakest.map_or("2 lb / 100 gal", |strength| &*strength.amount.written);
                said!("its strengths are {all}; in figures write `--rate \"{figures}\"`", all, figures)
            }
        };
        let message =
            said!("--strength: `{typed}` is not a strength of {product}", typed, product = product.name);
        Some(Refusal::new(message).help(help))
    }

    /// Returns the trees that were sprayed.
    fn place(&self, read: &Opened, planned: &[usize]) -> Result<NotedPlace, Refusal> {
        let named = |flag: &str, text: &str| {
            grove::place_of(text, &read.grove)
                .map_err(|(message, help)| Refusal::of(said!("{flag}: {message}", flag, message), help))
        };
        let whole = match &self.on {
            Some(on) => named("--on", &on.join(" "))?,
            None => grove::place_of_trees(planned, &read.grove),
        };
        let Some(except) = &self.except else { return Ok(whole) };
        let out = named("--except", &except.join(" "))?.trees;
        if let Some(stranger) = out.iter().find(|tree| !whole.trees.contains(tree)) {
            let name = read.grove.trees.name(*stranger);
            let message = said!("--except: `{name}` was not among the trees to spray", name);
            return Err(Refusal::new(message).help(said!("the trees are {whole}", whole = whole.on)));
        }
        let rest: Vec<usize> = whole.trees.iter().copied().filter(|tree| !out.contains(tree)).collect();
        if rest.is_empty() {
            let refusal = Refusal::new("--except: then no tree was sprayed");
            return Err(refusal.help("what was not sprayed is not written down"));
        }
        Ok(grove::place_of_trees(&rest, &read.grove))
    }

    /// Returns the jugs and registrations: as typed, of the sheet, or the first jug of each product.
    fn jugs(
        &self,
        read: &Opened,
        product: &str,
        sheet: &KeptSheet,
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

impl SprayWords {
    /// Returns what the strengths of the rulebook that were named are in figures, part by part; nothing where one of them
    /// is not known, or is none that the jug could be measured by.
    fn rate_of(&self, read: &Opened, product: &str, strength: &str) -> Option<String> {
        let products: Vec<&str> = product.split(" with ").map(str::trim).collect();
        let strengths: Vec<&str> = strength.split(" with ").map(str::trim).collect();
        let rates = products.iter().zip(&strengths).map(|(product, strength)| {
            let product = &read.plan[read.plan.product(product)?];
            let strength = product.strengths.iter().find(|it| &*it.name == *strength)?;
            let jugs = read.grove.shed.iter().filter(|jug| *jug.word == *product.name);
            let rate = &*strength.amount.written;
            let fits = jugs.map(|jug| Some(jug.form)).chain([None]).all(|form| grove::is_rate(rate, form));
            fits.then(|| rate.to_string())
        });
        let rates: Vec<String> = rates.collect::<Option<_>>()?;
        (products.len() == strengths.len()).then(|| rates.join(" with "))
    }
}

/// Returns when the last spray ends that lies ahead of the moment of the advice: a row whose year is mistyped can be put
/// right all the same. What lies further ahead than weather is read for is left out.
pub fn last_ahead(read: &Opened) -> Option<DateTime<Tz>> {
    let far = read.as_of + Duration::days(15 * 365);
    read.grove.log.ahead().iter().rfind(|end| **end <= far).copied()
}

/// Returns strengths as the rulebook writes them.
fn strengths_of(said: &str, product: &str, read: &Opened) -> Result<String, Refusal> {
    let products: Vec<&str> = product.split(" with ").map(str::trim).collect();
    in_words_of(&read.plan, said, |at| {
        let id = products.get(at).and_then(|product| read.plan.product(product));
        id.map_or_else(Vec::new, |id| read.plan[id].strengths.iter().map(|it| &*it.name).collect())
    })
}

/// Says which of the jugs that were typed are not in the shed; their labels are not known then.
fn strange_jugs(typed: &str, product: &str, read: &Opened, language: Language) -> Option<String> {
    let named: Vec<&str> = typed.split(" with ").map(str::trim).collect();
    let products = product.split(" with ").map(str::trim);
    let shed = &read.grove.shed;
    let strange = |(at, product): (usize, &str)| {
        let name = *named.get(at)?;
        let is = |jug: &&grove::Jug| &*jug.word == product && (&*jug.name == name || &*jug.word == name);
        shed.iter().find(is).is_none().then_some(name)
    };
    let strange: Vec<&str> = products.enumerate().filter_map(strange).collect();
    let first = *strange.first()?;
    let near = nearest(first, shed.iter().map(|jug| &*jug.name));
    let near = near.map(|near| language.say("logged.jug.near", &[("near", near)]));
    let names: Vec<String> = strange.iter().map(|name| format!("`{name}`")).collect();
    let said = language.say("logged.jug", &[("jugs", &names.join(", "))]);
    Some(near.map_or(said.clone(), |near| format!("{said} {near}")))
}

fn missing(flags: &[(&str, &str)]) -> Refusal {
    let names: Vec<String> = flags.iter().map(|(flag, _)| format!("`{flag}`")).collect();
    let examples: Vec<String> = flags.iter().map(|(flag, example)| format!("{flag} {example}")).collect();
    let message = said!("missing: {names}", names = names.join(", "));
    let sheet = if flags.iter().any(|(flag, _)| *flag == "--corrects") {
        ""
    } else {
        ", or name the sheet: `--sheet 12`"
    };
    Refusal::new(message).help(said!("write `{examples}`{sheet}", sheet, examples = examples.join(" ")))
}

fn joined(words: &Option<Vec<String>>) -> Option<String> {
    words.as_ref().map(|words| words.join(" "))
}
