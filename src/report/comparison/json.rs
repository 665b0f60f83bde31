//! A comparison as JSON.

use super::edits::Edits;
use super::{Compared, FORMAT, TreeChange};
use crate::plan::{Plan, ProductId};
use crate::problems::Problem;
use crate::prove::compare::items::{Concern, ItemChange, ItemDirection, RowChange};
use crate::prove::compare::{CalledOtherwise, Comparison, Headline, Region, Said, VerdictTurn};
use crate::prove::space::places::{Run, Where};
use crate::report::json;
use crate::trace::Verdict;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// A comparison as programs read it.
#[derive(Serialize)]
struct ComparisonForm<'a> {
    format: &'static str,
    same: bool,
    same_verdicts: bool,
    summary: String,
    also: Vec<String>,
    changes: Vec<TurnForm<'a>>,
    headlines: Vec<HeadlineForm<'a>>,
    regions: Vec<RegionForm<'a>>,
    more_regions: bool,
    cut: Vec<TurnForm<'a>>,
    certified_organic: Option<CertifiedForm<'a>>,
    to_mend: Vec<BrokenForm<'a>>,
    errors_before: usize,
    protection: Vec<ProtectionForm>,
    called_otherwise: &'a [CalledOtherwise],
    items: Vec<ItemForm<'a>>,
    trees: &'a [TreeChange],
    unconfirmed: usize,
    not_decided: bool,
}

#[derive(Serialize)]
struct TurnForm<'a> {
    was: &'a str,
    now: &'a str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    was_shut: Vec<ShutForm<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    now_shut: Vec<ShutForm<'a>>,
}

#[derive(Serialize)]
struct ShutForm<'a> {
    product: &'a str,
    by: &'a [String],
}

#[derive(Serialize)]
struct HeadlineForm<'a> {
    because_of: &'a [String],
    figures: &'a [String],
    edits: Vec<&'a str>,
    was: &'a str,
    now: &'a str,
    kind: &'static str,
    #[serde(rename = "where")]
    place: Vec<PlaceForm<'a>>,
    places: Vec<Vec<PlaceForm<'a>>>,
    elsewhere: usize,
    except: bool,
    except_by: &'a [String],
    situation: &'a BTreeMap<String, Value>,
}

/// What a name is in a region: one run, or any of several.
#[derive(Serialize)]
struct PlaceForm<'a> {
    name: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    of: Option<&'static str>,
    #[serde(flatten)]
    run: Option<RunForm<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    any_of: Vec<RunForm<'a>>,
}

/// A run of values: `from` and `to` are ends that count, `above` and `below` those that do not.
#[derive(Serialize, Default)]
struct RunForm<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    above: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    below: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    is: Option<&'a str>,
}

#[derive(Serialize)]
struct RegionForm<'a> {
    #[serde(rename = "where")]
    place: Vec<PlaceForm<'a>>,
    was: SaidForm<'a>,
    now: SaidForm<'a>,
    kind: &'static str,
    because_of: &'a [String],
    situation: &'a BTreeMap<String, Value>,
    certainty: &'static str,
    shared: &'a [String],
    trees: Vec<TreeName<'a>>,
}

#[derive(Serialize)]
struct TreeName<'a> {
    grove: &'a str,
    tree: &'a str,
}

#[derive(Serialize)]
struct SaidForm<'a> {
    verdict: &'static str,
    spray: Vec<DoseForm>,
    choice: Option<&'a str>,
    choices: &'a [String],
    at: Option<String>,
}

#[derive(Serialize)]
struct DoseForm {
    product: Option<String>,
    strength: Option<String>,
    amount: Option<String>,
}

#[derive(Serialize)]
struct CertifiedForm<'a> {
    changes: Vec<TurnForm<'a>>,
    regions: Vec<RegionForm<'a>>,
    more_regions: bool,
    not_decided: bool,
}

#[derive(Serialize)]
struct BrokenForm<'a> {
    code: &'static str,
    message: &'a str,
    at: String,
    situation: &'a BTreeMap<String, Value>,
}

#[derive(Serialize)]
struct ProtectionForm {
    item: String,
    kind: &'static str,
    change: &'static str,
    direction: Option<&'static str>,
    was: Option<String>,
    now: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    products: Vec<String>,
    edits: Vec<String>,
    because: Vec<String>,
}

#[derive(Serialize)]
struct ItemForm<'a> {
    item: &'a str,
    kind: &'static str,
    change: &'static str,
    edited: bool,
    edits: Vec<&'a str>,
    was: Option<String>,
    now: Option<String>,
    rows: &'a [RowChange],
    in_meaning: bool,
    direction: Option<&'static str>,
    was_at: Option<String>,
    now_at: Option<String>,
}

impl Compared<'_> {
    /// Returns the whole comparison as JSON.
    pub fn json(&self) -> String {
        json::lines(&self.form())
    }

    fn form(&self) -> ComparisonForm<'_> {
        let edits = Edits::of(&self.comparison.items, self.plans, self.sources);
        let comparison = self.comparison;
        ComparisonForm {
            format: FORMAT,
            same: comparison.same,
            same_verdicts: comparison.same_verdicts,
            summary: self.summary_of(&edits),
            also: self.also_words(),
            changes: turns(&comparison.turns),
            headlines: comparison.headlines.iter().flat_map(|it| self.headline(it, &edits)).collect(),
            regions: self.regions(comparison, true),
            more_regions: !comparison.cut.is_empty(),
            cut: turns(&comparison.cut),
            certified_organic: comparison.certified.as_deref().map(|it| CertifiedForm {
                changes: turns(&it.turns),
                regions: self.regions(it, false),
                more_regions: !it.cut.is_empty(),
                not_decided: it.spent,
            }),
            to_mend: comparison.to_mend.new.iter().map(|it| self.broken(it)).collect(),
            errors_before: comparison.to_mend.before,
            protection: self.protection(&edits),
            called_otherwise: &comparison.called_otherwise,
            items: comparison.items.iter().enumerate().map(|(at, it)| self.item(at, it, &edits)).collect(),
            trees: self.trees,
            unconfirmed: comparison.unconfirmed,
            not_decided: comparison.spent,
        }
    }

    fn regions<'c>(&'c self, of: &'c Comparison, has_trees: bool) -> Vec<RegionForm<'c>> {
        let one = |(at, region): (usize, &'c Region)| {
            let trees = self.trees.iter().filter(|it| has_trees && it.regions.contains(&at));
            RegionForm {
                place: region.place.iter().map(place).collect(),
                was: self.said(0, &region.was),
                now: self.said(1, &region.now),
                kind: kind(of, region),
                because_of: &region.because_of,
                situation: &region.situation.values,
                certainty: if region.situation.shared.is_empty() { "seen" } else { "on paper" },
                shared: &region.situation.shared,
                trees: trees.map(|it| TreeName { grove: &it.grove, tree: &it.tree }).collect(),
            }
        };
        of.regions.iter().enumerate().map(one).collect()
    }

    /// Returns a headline: one form for each change of verdict.
    fn headline<'c>(&'c self, it: &'c Headline, edits: &Edits<'_>) -> Vec<HeadlineForm<'c>> {
        let behind = it.because_of.iter().flat_map(|cause| edits.behind_cause(cause)).collect();
        let places = || it.places.iter().map(|all| all.iter().map(place).collect());
        let turn = |turn: &'c VerdictTurn| HeadlineForm {
            because_of: &it.because_of,
            figures: &it.figures,
            edits: self.item_names(&behind),
            was: &turn.was,
            now: &turn.now,
            kind: turn.words(),
            place: places().next().unwrap_or_default(),
            places: places().collect(),
            elsewhere: it.elsewhere,
            except: !it.except.is_empty(),
            except_by: &it.except.choices,
            situation: &it.situation.values,
        };
        it.turns.iter().map(turn).collect()
    }

    /// Returns what protects and is weaker, or gone: the items, and the gates that let something through.
    fn protection(&self, edits: &Edits<'_>) -> Vec<ProtectionForm> {
        let names = |of| self.item_names(&of).into_iter().map(str::to_owned).collect();
        let weakened = self.weakened().map(|it| {
            let [was, now] = edits.sides(it);
            ProtectionForm {
                item: it.item.clone(),
                kind: it.concern.word(),
                change: it.change.word(),
                direction: it.direction.map(ItemDirection::words),
                was,
                now,
                products: Vec::new(),
                edits: names(edits.behind([it.was, it.now])),
                because: edits.reasons(it).into_iter().map(|(_, it)| it).collect(),
            }
        });
        let opened = self.opened().map(|it| ProtectionForm {
            item: format!("gate {}", it.gate),
            kind: Concern::Gate.word(),
            change: "opened",
            direction: Some(ItemDirection::Looser.words()),
            was: None,
            now: None,
            products: it.products.clone(),
            edits: names(edits.behind_cause(&format!("gate {}", it.gate))),
            because: self.because(it).map(str::to_owned).into_iter().collect(),
        });
        weakened.chain(opened).collect()
    }

    fn broken<'c>(&self, it: &'c Problem) -> BrokenForm<'c> {
        BrokenForm {
            code: it.finding.code(),
            message: &it.message,
            at: self.sources.locate(it.at),
            situation: &it.situation,
        }
    }

    fn said<'c>(&'c self, book: usize, said: &'c Said) -> SaidForm<'c> {
        let plan = self.plans[book];
        let first = said.choices.first();
        let choice = first.and_then(|name| plan.choices.iter().find(|it| *it.name == **name));
        let spray = match &said.is {
            Verdict::Spray(doses) => doses.iter().map(|of| dose(plan, *of)).collect(),
            _ => Vec::new(),
        };
        SaidForm {
            verdict: said.is.word(),
            spray,
            choice: first.map(|it| &**it),
            choices: &said.choices,
            at: choice.map(|it| self.sources.locate(it.span)),
        }
    }

    fn item<'c>(&'c self, at: usize, it: &'c ItemChange, edits: &Edits<'_>) -> ItemForm<'c> {
        let [was, now] = edits.sides(it);
        let mut behind = edits.behind([it.was, it.now]);
        behind.remove(&at);
        ItemForm {
            item: &it.item,
            kind: it.concern.word(),
            change: it.change.word(),
            edited: edits.is_edited(at),
            edits: self.item_names(&behind),
            was,
            now,
            rows: &it.rows,
            in_meaning: it.in_meaning(),
            direction: it.direction.map(ItemDirection::words),
            was_at: it.was.map(|span| self.sources.locate(span)),
            now_at: it.now.map(|span| self.sources.locate(span)),
        }
    }
}

fn turns(all: &[VerdictTurn]) -> Vec<TurnForm<'_>> {
    all.iter().map(turn).collect()
}

fn turn(of: &VerdictTurn) -> TurnForm<'_> {
    TurnForm {
        was: &of.was,
        now: &of.now,
        kind: of.words(),
        was_shut: of.was_shut.iter().map(|(product, by)| ShutForm { product, by }).collect(),
        now_shut: of.now_shut.iter().map(|(product, by)| ShutForm { product, by }).collect(),
    }
}

/// Returns which way the verdict of a region moved, as its change of verdict says.
fn kind(of: &Comparison, region: &Region) -> &'static str {
    let is_it = |turn: &&VerdictTurn| turn.was == region.was.verdict && turn.now == region.now.verdict;
    of.turns.iter().find(is_it).map_or(region.direction.words(), VerdictTurn::words)
}

fn dose(plan: &Plan, (product, at): (ProductId, u8)) -> DoseForm {
    let of = plan.products.get(product.index());
    let strength = of.and_then(|product| product.strengths.get(usize::from(at)));
    DoseForm {
        product: of.map(|it| it.name.to_string()),
        strength: strength.map(|it| it.name.to_string()),
        amount: strength.map(|it| it.amount.written.to_string()),
    }
}

fn place(of: &Where) -> PlaceForm<'_> {
    let (run, any_of) = match &of.runs[..] {
        [one] => (Some(run(one)), Vec::new()),
        several => (None, several.iter().map(run).collect()),
    };
    let book = if of.book == 0 { "old" } else { "new" };
    PlaceForm { name: &of.name, of: of.is_redefined.then_some(book), run, any_of }
}

fn run(of: &Run) -> RunForm<'_> {
    RunForm {
        from: of.from.as_ref().filter(|it| it.1).map(|it| &*it.0),
        above: of.from.as_ref().filter(|it| !it.1).map(|it| &*it.0),
        to: of.to.as_ref().filter(|it| it.1).map(|it| &*it.0),
        below: of.to.as_ref().filter(|it| !it.1).map(|it| &*it.0),
        is: of.is.as_deref(),
    }
}
