//! A comparison as JSON.

use super::{Compared, FORMAT, plain};
use crate::plan::{Plan, ProductId};
use crate::problems::Problem;
use crate::prove::compare::items::{ItemChange, ItemDirection};
use crate::prove::compare::{Headline, Opened, Region, Said, VerdictTurn};
use crate::prove::space::places::{Run, Where};
use crate::source::Span;
use crate::trace::Verdict;
use serde_json::{Value, json};

impl Compared<'_> {
    /// Returns the whole comparison as JSON.
    pub fn json(&self) -> Value {
        let regions: Vec<Value> =
            self.comparison.regions.iter().enumerate().map(|(at, region)| self.region(at, region)).collect();
        let items: Vec<Value> = self.comparison.items.iter().map(|it| self.item(it)).collect();
        let headlines: Vec<Value> = self.comparison.headlines.iter().flat_map(headline_json).collect();
        json!({
            "format": FORMAT,
            "same": self.comparison.same,
            "same_verdicts": self.comparison.same_verdicts,
            "summary": self.summary(),
            "changes": self.comparison.turns.iter().map(turn_json).collect::<Vec<_>>(),
            "headlines": headlines,
            "regions": regions,
            "more_regions": !self.comparison.cut.is_empty(),
            "cut": self.comparison.cut.iter().map(turn_json).collect::<Vec<_>>(),
            "certified_organic": self.comparison.certified.as_deref().map(|certified| {
                let of = |region: &Region| {
                    let mut region = self.region(usize::MAX, region);
                    region["trees"] = json!([]);
                    region
                };
                json!({
                    "changes": certified.turns.iter().map(turn_json).collect::<Vec<_>>(),
                    "regions": certified.regions.iter().map(of).collect::<Vec<_>>(),
                    "more_regions": !certified.cut.is_empty(),
                    "not_decided": certified.spent,
                })
            }),
            "to_mend": self.comparison.to_mend.new.iter().map(|it| self.broken(it)).collect::<Vec<_>>(),
            "errors_before": self.comparison.to_mend.before,
            "protection": self.protection(),
            "called_otherwise": self.comparison.called_otherwise,
            "items": items,
            "trees": self.trees,
            "unconfirmed": self.comparison.unconfirmed,
            "not_decided": self.comparison.spent,
        })
    }

    fn region(&self, at: usize, region: &Region) -> Value {
        let trees = self.trees.iter().filter(|it| it.regions.contains(&at));
        json!({
            "where": region.place.iter().map(place_json).collect::<Vec<_>>(),
            "was": self.said(0, &region.was),
            "now": self.said(1, &region.now),
            "kind": self.kind(region),
            "because_of": region.because_of,
            "situation": region.situation.values,
            "certainty": if region.situation.shared.is_empty() { "seen" } else { "on paper" },
            "shared": region.situation.shared,
            "trees": trees.map(|it| json!({ "grove": it.grove, "tree": it.tree })).collect::<Vec<_>>(),
        })
    }

    /// Returns what protects and is weaker, or gone: the items, and the gates that let something through.
    fn protection(&self) -> Vec<Value> {
        let opened = |it: &Opened| {
            json!({
                "item": format!("gate {}", it.gate), "change": "opened", "direction": "looser",
                "products": it.products, "because": self.because(it),
            })
        };
        self.weakened().map(|it| self.item(it)).chain(self.opened().map(opened)).collect()
    }

    fn broken(&self, it: &Problem) -> Value {
        json!({
            "code": it.finding.code(), "message": it.message, "at": self.sources.locate(it.at),
            "situation": it.situation,
        })
    }

    /// Returns which way the verdict of a region moved, as its change of verdict says.
    fn kind(&self, region: &Region) -> &'static str {
        let is_it = |turn: &&VerdictTurn| turn.was == region.was.verdict && turn.now == region.now.verdict;
        self.comparison.turns.iter().find(is_it).map_or(region.direction.words(), VerdictTurn::words)
    }

    fn said(&self, book: usize, said: &Said) -> Value {
        let plan = self.plans[book];
        let first = said.choices.first();
        let choice = first.and_then(|name| plan.choices.iter().find(|it| *it.name == **name));
        let spray: Vec<Value> = match &said.is {
            Verdict::Spray(doses) => doses.iter().map(|dose| dose_json(plan, *dose)).collect(),
            _ => Vec::new(),
        };
        json!({
            "verdict": said.is.word(),
            "spray": spray,
            "choice": first,
            "choices": said.choices,
            "at": choice.map(|it| self.sources.locate(it.span)),
        })
    }

    fn item(&self, it: &ItemChange) -> Value {
        let text = |span: Option<Span>| span.map(|span| plain(self.sources.words(span)));
        let (was, now) = match &it.written {
            Some((was, now)) => (Some(was.clone()), Some(now.clone())),
            None => (text(it.was), text(it.now)),
        };
        json!({
            "rows": it.rows,
            "item": it.item, "change": it.change.word(), "was": was, "now": now,
            "in_meaning": it.in_meaning(), "direction": it.direction.map(ItemDirection::words),
            "was_at": it.was.map(|span| self.sources.locate(span)),
            "now_at": it.now.map(|span| self.sources.locate(span)),
        })
    }
}

fn dose_json(plan: &Plan, (product, at): (ProductId, u8)) -> Value {
    let of = plan.products.get(product.index());
    let strength = of.and_then(|product| product.strengths.get(usize::from(at)));
    json!({
        "product": of.map(|it| it.name.to_string()),
        "strength": strength.map(|it| it.name.to_string()),
        "amount": strength.map(|it| it.amount.written.to_string()),
    })
}

fn place_json(place: &Where) -> Value {
    let run = |run: &Run| {
        let mut parts = serde_json::Map::new();
        let mut end = |ends: &Option<(String, bool)>, closed: &str, open: &str| {
            if let Some((words, counts)) = ends {
                parts.insert((if *counts { closed } else { open }).to_owned(), Value::from(words.clone()));
            }
        };
        end(&run.from, "from", "above");
        end(&run.to, "to", "below");
        if let Some(is) = &run.is {
            parts.insert("is".to_owned(), Value::from(is.clone()));
        }
        parts
    };
    let mut out = serde_json::Map::new();
    out.insert("name".to_owned(), Value::from(place.name.clone()));
    if place.is_redefined {
        out.insert("of".to_owned(), Value::from(if place.book == 0 { "old" } else { "new" }));
    }
    match &place.runs[..] {
        [one] => out.extend(run(one)),
        several => {
            let all: Vec<Value> = several.iter().map(|it| Value::Object(run(it))).collect();
            out.insert("any_of".to_owned(), Value::from(all));
        }
    }
    Value::Object(out)
}

fn turn_json(turn: &VerdictTurn) -> Value {
    let mut out = json!({ "was": turn.was, "now": turn.now, "kind": turn.words() });
    if !turn.was_shut.is_empty() {
        out["was_shut"] = turn.was_shut.iter().map(shut_json).collect();
    }
    if !turn.now_shut.is_empty() {
        out["now_shut"] = turn.now_shut.iter().map(shut_json).collect();
    }
    out
}

fn shut_json((product, by): &(String, Vec<String>)) -> Value {
    json!({ "product": product, "by": by })
}

/// Returns a headline as JSON: one for each change of verdict.
fn headline_json(it: &Headline) -> Vec<Value> {
    let place = |place: &Vec<Where>| place.iter().map(place_json).collect::<Vec<Value>>();
    let places: Vec<Vec<Value>> = it.places.iter().map(place).collect();
    let turn = |turn: &VerdictTurn| {
        json!({
            "because_of": it.because_of, "figures": it.figures, "was": turn.was, "now": turn.now, "kind": turn.words(),
            "where": places.first(), "places": places, "elsewhere": it.elsewhere,
            "except": !it.except.is_empty(), "except_by": it.except.choices, "situation": it.situation.values,
        })
    };
    it.turns.iter().map(turn).collect()
}
