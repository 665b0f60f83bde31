//! What statements claim, in one clause each.

use super::{Scene, Words};
use crate::explain::{Claim, Compared, Item, Statement};
use crate::plan::{Choice, ChoiceId, Gate, Kind, ProductId, Shut, Yields};
use crate::trace::{Sense, Shutter};

impl Scene<'_> {
    /// Returns what a statement says, in one clause.
    pub fn says(&self, statement: &Statement) -> String {
        let words = self.words();
        let of = |key: &str, place: &str, what: &str| words.say(key, &[(place, what)]);
        match &statement.claim {
            Claim::Advises { way, held, instead_of } => {
                let mut says = of("claim.advises", "ways", &words.way(way));
                if let Some(held) = held {
                    says =
                        words.say("claim.advises.held", &[("claim", &says), ("doses", &words.doses(held))]);
                }
                if !instead_of.is_empty() {
                    let ways: Vec<String> = instead_of.iter().map(|way| words.way(way)).collect();
                    let ways = words.language.listed("list.and", &ways);
                    let places = [("claim", &*says), ("ways", &ways)];
                    says = words.language.counted("claim.instead", instead_of.len() as i64, &places);
                }
                says
            }
            Claim::AdvisesOneOf(ways) => of("claim.advises", "ways", &words.ways(ways)),
            Claim::NoneAllowed(ways) | Claim::Aside(ways) => of("claim.aside", "ways", &words.ways(ways)),
            Claim::Perhaps(ways) => of("claim.perhaps", "ways", &words.ways(ways)),
            Claim::Outranked(above, ways) => words.say(
                "claim.outranked",
                &[("choice", self.choice_label(*above)), ("ways", &words.ways(ways))],
            ),
            Claim::NearlyHolds(met) => of("claim.nearly-holds", "met", &words.compared(met)),
            Claim::Shut(tanks, by) => {
                let (tanks_words, why) = (words.tanks(tanks), words.shutter(*by));
                let places = [("products", &*tanks_words), ("why", &why)];
                words.language.counted("claim.shut", tanks.len() as i64, &places)
            }
            Claim::ShutBetween(tank, gates) => {
                let places = [("products", &*words.tank(tank)), ("why", &words.gates(gates))];
                words.say("claim.shut-between", &places)
            }
            Claim::PerhapsShut(products) => {
                let places =
                    [("products", &*words.products(products)), ("why", &self.gate_of(statement.item))];
                words.say("claim.perhaps-shut", &places)
            }
            Claim::Held(products) => {
                let places = [("held", &*words.held(products)), ("why", &self.gate_of(statement.item))];
                words.say("claim.held", &places)
            }
            Claim::NearlyShut(met) => {
                let places = [("what", &*self.shuts(statement.item)), ("met", &words.compared(met))];
                words.say("claim.nearly-shut", &places)
            }
            Claim::Hours => self.hours(statement.item),
            Claim::Do | Claim::Warn | Claim::Defined | Claim::LookedUp => self.item(statement.item),
            Claim::Compared(met) => words.compared(met),
            Claim::Raised { level, caps, sure, met } => {
                let key = match (sure, caps) {
                    (true, false) => "claim.raised",
                    (true, true) => "claim.capped",
                    (false, false) => "claim.raised.perhaps",
                    (false, true) => "claim.capped.perhaps",
                };
                let places = [("level", &*self.level(statement.item, *level)), ("met", &words.all(met))];
                words.say(key, &places)
            }
            Claim::Stays => of("claim.stays", "level", &self.level(statement.item, 0)),
            Claim::Value { definition, .. } => {
                let value = self.value(statement);
                match definition.map(|span| self.written(span)).filter(|written| !written.is_empty()) {
                    Some(written) => {
                        words.say("claim.value.defined", &[("value", &value), ("definition", &written)])
                    }
                    None => value,
                }
            }
            Claim::Seen { .. } => self.seen(statement),
            Claim::Computed(computed) => self.computed(computed),
            Claim::InSpray(spray) => {
                let places = [("product", &*self.item(statement.item)), ("doses", &words.doses(spray))];
                words.say("claim.in-spray", &places)
            }
            Claim::WouldAdvise(met) => of("claim.would-advise", "met", &words.all(met)),
            Claim::WouldGiveWay(above) => of("claim.would-give-way", "choice", self.choice_label(*above)),
            Claim::WouldPerhaps => words.say("claim.would-perhaps", &[]),
            Claim::NamedAfter(way) => of("claim.named-after", "way", &words.way(way)),
            Claim::NamedAside => words.say("claim.named-aside", &[]),
            Claim::Named => words.say("claim.named", &[]),
            Claim::NeverNamed => of("claim.never-named", "product", &self.item(statement.item)),
        }
    }

    /// Returns the words under a span without comments, blanks and line breaks as one blank.
    pub fn written(&self, span: crate::source::Span) -> String {
        let words = self.sources.words(span).lines().flat_map(|line| uncommented(line).split_whitespace());
        words.collect::<Vec<_>>().join(" ")
    }

    fn choice(&self, id: ChoiceId) -> Option<&Choice> {
        self.plan.choices.get(id.index())
    }

    /// Returns the label of a choice.
    pub fn choice_label(&self, id: ChoiceId) -> &str {
        self.choice(id).map_or("", |choice| &choice.label)
    }

    fn gate_of(&self, item: Item) -> String {
        if let Item::Gate(gate) = item { self.words().gate(gate) } else { String::new() }
    }

    fn gate(&self, item: Item) -> Option<&Gate> {
        if let Item::Gate(gate) = item { self.plan.gates.get(gate.index()) } else { None }
    }

    /// Returns a level of the band that a statement is of.
    fn level(&self, item: Item, level: u16) -> String {
        let Item::Name(name) = item else { return String::new() };
        let kind = self.plan.names.get(name.index()).map_or(Kind::YesNo, |name| name.kind);
        self.words().word(kind, level)
    }

    fn hours(&self, item: Item) -> String {
        let words = self.words();
        let hours = self.gate(item).and_then(|gate| gate.hours.as_ref());
        let when = hours.map_or_else(String::new, |hours| words.condition(hours, Sense::Asked));
        let places = [("what", &*self.shuts(item)), ("when", &when), ("why", &self.gate_of(item))];
        words.say("claim.hours", &places)
    }

    /// Returns what a gate shuts or holds.
    fn shuts(&self, item: Item) -> String {
        let words = self.words();
        let Some(gate) = self.gate(item) else { return String::new() };
        let one = |shut: &Shut| match shut {
            Shut::Spraying => words.say("shuts.spraying", &[]),
            Shut::Group(group) => words.say("sprayed.group", &[("group", group)]),
            Shut::Product(product) => words.product(*product),
            Shut::Mix(a, b) => words.tank(&[*a, *b]),
        };
        let held = gate.holds.iter().map(|(product, strength)| {
            let places =
                [("product", &*words.product(*product)), ("strength", &words.strength(*product, *strength))];
            words.say("shuts.above", &places)
        });
        gate.shuts.iter().map(one).chain(held).collect::<Vec<_>>().join(", ")
    }

    /// Returns what an item says of itself: what is to be done, how it is defined, where a value is looked up.
    fn item(&self, item: Item) -> String {
        let words = self.words();
        match item {
            Item::Task(at) => self.plan.tasks.get(at).map_or_else(String::new, |it| it.does.to_string()),
            Item::Warning(at) => {
                self.plan.warnings.get(at).map_or_else(String::new, |it| it.says.to_string())
            }
            Item::Product(product) => words.product(product),
            Item::Figure(id) => self.plan.figures.get(id.index()).map_or_else(String::new, |figure| {
                words.say(
                    "met.is",
                    &[("name", &crate::plan::spaced(&figure.name)), ("value", &figure.written)],
                )
            }),
            Item::Table(id) => {
                self.plan.tables.get(id.index()).map_or_else(String::new, |table| {
                    words.say("claim.looked-up", &[("table", &table.label)])
                })
            }
            Item::Hourly(id) => self.yields(self.plan.hourlies.get(id.index()).map(|it| &it.yields)),
            Item::Daily(id) => self.yields(self.plan.dailies.get(id.index()).map(|it| &it.yields)),
            Item::Choice(id) => self.choice_label(id).to_string(),
            Item::Gate(id) => words.gate(id),
            Item::Name(name) => words.label(name).to_string(),
            Item::None | Item::Certified | Item::ValidIf => String::new(),
        }
    }

    fn yields(&self, yields: Option<&Yields>) -> String {
        match yields {
            Some(Yields::Condition(condition)) => self.words().condition(condition, Sense::Asked),
            Some(Yields::Value(expr)) => self.written(expr.span),
            None => String::new(),
        }
    }
}

impl Words<'_> {
    /// Returns comparisons, one after the other.
    pub fn all(&self, met: &[Compared]) -> String {
        met.iter().map(|met| self.compared(met)).collect::<Vec<_>>().join("; ")
    }

    /// Returns why something is shut.
    pub fn shutter(&self, by: Shutter) -> String {
        match by {
            Shutter::Gate(gate) => self.gate(gate),
            Shutter::Certified => self.say("claim.certified", &[]),
        }
    }

    /// Returns products, those of a tank together.
    pub fn tanks(&self, tanks: &[Vec<ProductId>]) -> String {
        tanks.iter().map(|tank| self.tank(tank)).collect::<Vec<_>>().join(", ")
    }

    /// Returns products, one after the other.
    pub fn products(&self, products: &[ProductId]) -> String {
        products.iter().map(|product| self.product(*product)).collect::<Vec<_>>().join(", ")
    }

    /// Returns products with the strengths that they are held to.
    pub fn held(&self, products: &[(ProductId, u8)]) -> String {
        let one = |(product, strength): &(ProductId, u8)| {
            let places =
                [("product", &*self.product(*product)), ("strength", &self.strength(*product, *strength))];
            self.say("claim.no-stronger", &places)
        };
        products.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

/// Returns a line without its comment.
fn uncommented(line: &str) -> &str {
    let mut quoted = false;
    for (at, letter) in line.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '#' if !quoted => return line.get(..at).unwrap_or(line),
            _ => {}
        }
    }
    line
}
