//! `mix`: how much of a jug makes a volume of spray of a strength.

use super::end::{CommandOutcome, End, Refusal};
use super::groves::{self, Asked, Opened, Purpose};
use super::papers;
use super::pasted::unquoted;
use super::pasted::word_of;
use super::terminal::{Format, Printing, Stream};
use crate::grove::{Jug, JugSaid, typed_jug};
use crate::labels::{MixLimit, single_limits};
use crate::plan::{LabelLimit, LabelWord, ProductId};
use crate::problems::nearest;
use crate::report::{Mixing, mix_json, mix_page, schemas};
use crate::sprayday::{Spray, WantedStrength, mix};
use crate::units::{Dimension, Unit, spoken};
use crate::words::{Language, Speech, Words};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Prints the amount of a jug for a volume of spray of a strength
#[derive(clap::Args, Debug)]
#[command(
    override_usage = "bloomward mix [OPTIONS] [GROVE] PRODUCT STRENGTH VOLUME",
    after_help = "STRENGTH is one of the rulebook, `reduced`, or any that a label or a grower says: `600 ppm copper`, \
                  `2 lb / 100 gal`, `3 lb/ac`, `2 tbsp per gallon`, `1 % v/v`, `1:100`, `30 g per tree`. VOLUME is \
                  `25 gal`, `16 L`."
)]
pub struct Mix {
    /// The grove (the current folder if left out), the product, its strength, the volume of spray
    #[arg(value_name = "GROVE PRODUCT STRENGTH VOLUME", num_args = 1.., required_unless_present = "schema", value_parser = unquoted)]
    words: Vec<String>,
    /// Which jug of the shed, by its name or registration [default: the first of the product]
    #[arg(long, value_name = "NAME")]
    jug: Option<String>,
    /// A jug that is not in the shed: what it holds, `copper: 50 %`
    #[arg(long, value_name = "CONTENT", conflicts_with = "jug")]
    contains: Vec<String>,
    /// Of a jug that is not in the shed: it is measured, not weighed
    #[arg(long, requires = "contains")]
    liquid: bool,
    /// Of a jug that is not in the shed: what a volume of the liquid weighs, `10.4 lb/gal`
    #[arg(long, value_name = "WEIGHT", requires = "contains")]
    density: Option<String>,
    /// Of a jug that is not in the shed: its name or compound, `copper hydroxide`
    #[arg(long, value_name = "NAME", requires = "contains")]
    named: Option<String>,
    /// Block whose spacing is used for rates per acre or per tree
    #[arg(long, value_name = "BLOCK")]
    block: Option<String>,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    schema: bool,
    /// The language of the page: en, es. What the rulebook says comes from the translation beside it
    #[arg(long, value_name = "CODE", default_value = "en")]
    pub(super) language: String,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    pub(super) printing: Printing,
}

impl Mix {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.schema {
            return Stream::Results.print(schemas::MIX).map(|()| End::Done);
        }
        let language = papers::language(&self.language)?;
        let (grove, words) = parted(&self.words);
        let read = match groves::open_for(&grove, &self.asked, Purpose::Logs) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => return unopened.end(self.printing.lines.width),
        };
        let Some((word, rest)) = words.split_first().filter(|(_, rest)| !rest.is_empty()) else {
            return Err(Refusal::new(language.say("mix.wanted", &[])).help(language.say("mix.example", &[])));
        };
        read.told_without_weather(language, self.printing.lines.width)?;
        // A jug of the shed may be named itself.
        let own_word = |jug: &&Jug| &*jug.word == word.as_str() || read.plan.product(word).is_some();
        let named = if read.grove.shed.iter().any(|jug| own_word(&jug)) {
            None
        } else {
            read.grove.shed.iter().find(|jug| jug.name.eq_ignore_ascii_case(word))
        };
        let word = match named {
            Some(jug) => &*jug.word,
            None => word_of(&read.plan, word, read.plan.products.iter().map(|product| &*product.name))?,
        };
        let said = Words { language, speech: super::speech(&read), plan: &read.plan };
        let product = read.plan.product(word);
        let typed = self.typed(&read, word, product, language)?;
        let jugs: Vec<&Jug> = match &typed {
            Some(jug) => vec![jug],
            None => read.grove.shed.iter().filter(|jug| is_of(jug, word, product)).collect(),
        };
        let jug = match named.filter(|_| self.jug.is_none() && typed.is_none()) {
            Some(jug) => jug,
            None => self.chosen(&read, word, product, &jugs, said)?,
        };
        let asked = strength_and_volume(product, rest, said)?;
        let spray = self.spray(&read, asked.volume, language)?;
        let made = mix(jug, &asked.wanted, &spray)
            .map_err(|trouble| Refusal::new(said.language.mix_trouble(&trouble)))?;
        let unit = Unit { symbol: asked.symbol.as_str().into(), ..asked.unit };
        let mixing = Mixing {
            words: said,
            word,
            today: read.as_of.date_naive(),
            product,
            jug,
            others: jugs.iter().filter(|other| !std::ptr::eq(**other, jug)).copied().collect(),
            asked: &asked.said,
            written: asked.wanted.written.clone(),
            spray,
            volume: (asked.number, unit),
            mix: &made,
            limits: single_limits(&read.plan, product, jug, made.of_jug),
            strongest: strongest(&read, product, jug, &spray, made.amount),
        };
        let text = match self.printing.format {
            Format::Json => mix_json(&mixing),
            Format::Text => mix_page(&mixing, Stream::Results.width(self.printing.lines.width)),
        };
        Stream::Results.print(&text)?;
        Ok(if mixing.breaks_a_limit() { End::Found } else { End::Done })
    }

    fn typed(
        &self,
        read: &Opened,
        word: &str,
        product: Option<ProductId>,
        language: Language,
    ) -> Result<Option<Jug>, Refusal> {
        if self.contains.is_empty() {
            return Ok(None);
        }
        let said = JugSaid {
            word,
            product,
            name: self.named.as_deref(),
            liquid: self.liquid,
            density: self.density.as_deref(),
            contains: &self.contains,
        };
        typed_jug(&said, &read.plan)
            .map(Some)
            .map_err(|message| Refusal::new(message).help(language.say("mix.contains", &[("product", word)])))
    }

    /// Chooses the jug: the one that is named, else the first.
    fn chosen<'j>(
        &self,
        read: &Opened,
        word: &str,
        product: Option<ProductId>,
        jugs: &[&'j Jug],
        words: Words<'_>,
    ) -> Result<&'j Jug, Refusal> {
        let Some(first) = jugs.first() else {
            return Err(no_jug(read, word, product, words));
        };
        let Some(name) = &self.jug else { return Ok(first) };
        let is = |jug: &&&Jug| {
            jug.name.eq_ignore_ascii_case(name) || jug.registration.as_deref() == Some(name.as_str())
        };
        jugs.iter().find(is).copied().ok_or_else(|| {
            let refusal = Refusal::new(words.say("mix.jug.strange", &[("product", word), ("name", name)]));
            let names: Vec<&str> = jugs.iter().map(|jug| &*jug.name).collect();
            refusal.help(near_or(name, &names, "mix.there-is", words.language))
        })
    }

    /// Returns the spray, with what goes on an area and on a tree: of the named block, or where all blocks agree.
    fn spray(&self, read: &Opened, volume: f64, language: Language) -> Result<Spray, Refusal> {
        let blocks: Vec<_> = match &self.block {
            Some(name) => read.grove.blocks.iter().filter(|block| *block.name == **name).collect(),
            None => read.grove.blocks.iter().collect(),
        };
        if let (true, Some(name)) = (blocks.is_empty(), &self.block) {
            let names: Vec<&str> = read.grove.blocks.iter().map(|block| &*block.name).collect();
            let refusal = Refusal::new(language.say("mix.block.none", &[("name", name)]));
            return Err(refusal.help(near_or(name, &names, "mix.there-is", language)));
        }
        let Some(sprayer) = &read.grove.sprayer else { return Ok(Spray { volume, ..Spray::default() }) };
        let same = |of: Vec<Option<f64>>| {
            let first = of.first().copied().flatten();
            first.filter(|_| of.iter().all(|other| *other == first))
        };
        Ok(Spray {
            volume,
            per_area: same(blocks.iter().map(|block| sprayer.volume_per_area(block)).collect()),
            per_tree: same(blocks.iter().map(|block| sprayer.volume_per_tree(block)).collect()),
        })
    }
}

/// Parts the words into the grove, the current folder if none is named, and the rest.
fn parted(words: &[String]) -> (PathBuf, &[String]) {
    let names_a_grove = |word: &str| {
        let path = Path::new(word);
        path.is_file() || path.join("grove.yaml").is_file() || word == "." || word.contains(['/', '\\'])
    };
    match words.split_first() {
        Some((first, rest)) if names_a_grove(first) => (PathBuf::from(first), rest),
        // Four words, and the last of them is the volume: the first can only be a grove, though there is none.
        Some((first, [product, strength, volume]))
            if volume_of(volume).is_some() && volume_of(&format!("{strength} {volume}")).is_none() =>
        {
            match WantedStrength::spoken(&format!("{product} {strength}")) {
                Ok(_) => (PathBuf::from("."), words),
                Err(_) => (PathBuf::from(first), words.get(1..).unwrap_or_default()),
            }
        }
        _ => (PathBuf::from("."), words),
    }
}

/// Asks whether the nearest of some words was meant, or names them all by a key.
fn near_or(word: &str, names: &[&str], key: &str, language: Language) -> String {
    match nearest(word, names.iter().copied()) {
        Some(near) => language.say("mix.did-you-mean", &[("near", near)]),
        None => language.say(key, &[("names", &names.join(", "))]),
    }
}

fn is_of(jug: &Jug, word: &str, product: Option<ProductId>) -> bool {
    &*jug.word == word || (product.is_some() && jug.product == product)
}

fn no_jug(read: &Opened, word: &str, product: Option<ProductId>, words: Words<'_>) -> Refusal {
    let say = |key: &str, places: &[(&str, &str)]| words.say(key, places);
    if product.is_some() {
        let refusal = Refusal::new(say("mix.jug.none", &[("product", word)]));
        return refusal.help(say("mix.jug.none.help", &[("product", word)]));
    }
    if word.contains(" with ") {
        let refusal = Refusal::new(say("mix.several", &[("words", word)]));
        return refusal.help(say("mix.several.help", &[]));
    }
    let books = read.plan.products.iter().map(|product| &*product.name);
    let strange = read.grove.shed.iter().map(|jug| &*jug.word);
    let names: Vec<&str> = books.chain(strange.filter(|word| read.plan.product(word).is_none())).collect();
    let refusal = Refusal::new(say("mix.product.none", &[("word", word)]));
    refusal.help(near_or(word, &names, "mix.there-is", words.language))
}

/// What was asked for.
struct Request {
    wanted: WantedStrength,
    /// The strength as said.
    said: String,
    /// The volume in base units, and as said.
    volume: f64,
    number: f64,
    unit: Unit,
    symbol: String,
}

/// Reads strength and volume, in quotes or as single words; the volume is what the words end with.
fn strength_and_volume(
    product: Option<ProductId>,
    rest: &[String],
    said: Words<'_>,
) -> Result<Request, Refusal> {
    let language = said.language;
    let words: Vec<&str> = match rest {
        [strength, volume] => vec![strength, volume],
        _ => rest.iter().flat_map(|word| word.split_whitespace()).collect(),
    };
    let mut trouble = None;
    for at in 1..words.len() {
        let (head, tail) = words.split_at(at);
        let (strength, volume) = (head.join(" "), tail.join(" "));
        let Some(spoken) = volume_of(&volume) else { continue };
        match wanted(product, &strength, said) {
            Ok((wanted, strength)) => {
                let (volume, number) = (spoken.amount(), spoken.number);
                let symbol = spoken.unit.symbol.to_string();
                return Ok(Request { wanted, said: strength, volume, number, unit: spoken.unit, symbol });
            }
            Err(refusal) => trouble = Some(refusal),
        }
    }
    Err(trouble.unwrap_or_else(|| {
        let last = words.last().copied().unwrap_or_default();
        if let Ok(typed) = spoken::parse(last)
            && typed.is_bare()
            && typed.number > 0.0
        {
            let units = match said.speech {
                Speech::Metric => ["L", "mL", "gal"],
                Speech::Us | Speech::AsWritten | Speech::Both => ["gal", "qt", "L"],
            };
            let units = units.map(|unit| format!("`\"{last} {unit}\"`")).join(", ");
            let refusal = Refusal::new(language.say("mix.volume.no-unit", &[("word", last)]));
            return refusal.help(language.say("mix.volume.no-unit.help", &[("units", &units)]));
        }
        let refusal = Refusal::new(language.say("mix.volume.none", &[("word", last)]));
        let example = language.say("mix.example", &[]);
        refusal.help(language.say("mix.volume.none.help", &[("example", &example)]))
    }))
}

fn volume_of(text: &str) -> Option<spoken::Spoken> {
    let said = spoken::parse(text).ok()?;
    let fits = said.unit.dimension == Dimension::VOLUME && !said.per_tree && said.of.is_none();
    (fits && said.amount() > 0.0).then_some(said)
}

/// Reads a strength, a name of the rulebook's or a quantity, and returns also how it is said.
fn wanted(
    product: Option<ProductId>,
    strength: &str,
    words: Words<'_>,
) -> Result<(WantedStrength, String), Refusal> {
    let product = product.and_then(|id| words.plan.products.get(id.index()));
    let strengths = || product.iter().flat_map(|product| &product.strengths);
    let word = word_of(words.plan, strength, strengths().map(|strength| &*strength.name))?;
    let named = strengths().find(|strength| &*strength.name == word);
    if let Some(strength) = named {
        let wanted =
            WantedStrength::of_plan(&strength.amount, product.and_then(|product| product.contains.as_ref()));
        return Ok((wanted, strength.name.to_string()));
    }
    WantedStrength::spoken(strength).map(|wanted| (wanted, strength.to_owned())).map_err(|trouble| {
        let refusal = Refusal::new(words.language.mix_trouble(&trouble));
        let Some(product) = product else { return refusal };
        let names: Vec<&str> = product.strengths.iter().map(|it| &*it.name).collect();
        refusal.help(near_or(strength, &names, "mix.strengths", words.language))
    })
}

/// Returns the guide's strongest mix as a limit, where both can be counted.
fn strongest(
    read: &Opened,
    product: Option<ProductId>,
    jug: &Jug,
    spray: &Spray,
    amount: f64,
) -> Option<(Arc<str>, MixLimit)> {
    let product = read.plan.products.get(product?.index())?;
    let strength = product.strengths.last()?;
    let most = mix(jug, &WantedStrength::of_plan(&strength.amount, product.contains.as_ref()), spray).ok()?;
    let kept = Unit::none().threshold_of_amount(most.amount).is_kept_by(amount, true);
    let limit = MixLimit {
        word: LabelWord::Strength,
        limit: LabelLimit::Amount(strength.amount.written.clone(), strength.amount.unit.clone()),
        written: strength.amount.written.clone(),
        kept: Some(kept),
    };
    Some((strength.name.clone(), limit))
}
