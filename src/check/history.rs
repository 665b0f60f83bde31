//! What the spray log and a tree's panicles and neighbours say.
//!
//! Comes in: such expressions as written. Goes out: expressions of the plan, with their kinds and their reach.

use super::Checker;
use super::aggregates::{DURATION, days};
use super::catalogue::NameMeaning;
use super::conditions::{Scene, Speaks};
use super::expressions::{Typed, typed};
use super::units_of::Hint;
use super::wording;
use crate::plan::{Counted, ExprNode, ItemKind, Kind, NameId, Place, ProductId, Sprayed, Statistic, Subject};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Name, Node};
use crate::units::{Dimension, Unit};

impl<'a> Checker<'a> {
    /// Checks what is asked of the spray log and of dates.
    pub(super) fn history(&mut self, node: &Node<'a>, span: Span, scene: &mut Scene) -> Option<Typed> {
        let day = matches!(scene.speaks, Speaks::Day);
        match scene.speaks {
            Speaks::Tree => {}
            Speaks::Day if matches!(node, Node::SpraysOf(_, tree::Counted::ThatDay)) => {}
            Speaks::Day => {
                let message = "this looks back from today, and a day is spoken of here";
                let help = "a `daily` can count `sprays of … that day`; all else belongs into a `measure`";
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
            Speaks::Tally | Speaks::Hour | Speaks::Group => {
                let message = "the spray log and dates are of today, and are not spoken of here";
                let help = "name it in a `measure`; a tally speaks of `daily … = sprays of … that day`";
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
        }
        let in_days = Hint::Unit(days());
        match node {
            Node::DaysSinceLast(what) => {
                let what = self.sprayed(what)?;
                self.log(scene);
                Some(typed(ExprNode::DaysSinceLast(what), DURATION, in_days, span))
            }
            Node::DaysSince(name) => {
                let id = self.dated(name, scene)?;
                Some(typed(ExprNode::DaysSince(id), DURATION, in_days, span))
            }
            Node::DaysTo(name) => {
                let id = self.dated(name, scene)?;
                Some(typed(ExprNode::DaysTo(id), DURATION, in_days, span))
            }
            Node::DaysToHarvest => {
                scene.reach(Place::Tree);
                Some(typed(ExprNode::DaysToHarvest, DURATION, in_days, span))
            }
            Node::SpraysInARow(what) => {
                let what = self.sprayed(what)?;
                self.log(scene);
                Some(typed(ExprNode::SpraysInARow(what), Kind::Count, Hint::Open, span))
            }
            Node::SpraysOf(what, over) => {
                let (what, over) = (self.sprayed(what), self.counted(over, day, span));
                self.log(scene);
                Some(typed(ExprNode::SpraysOf(what?, over?), Kind::Count, Hint::Open, span))
            }
            Node::AmountOf(ingredient, over) => {
                let (known, over) = (self.ingredient(ingredient), self.counted(over, day, span));
                self.log(scene);
                known?;
                let kind = Kind::Quantity(Dimension::RATE);
                Some(typed(ExprNode::AmountOf(ingredient.value.into(), over?), kind, Hint::Open, span))
            }
            _ => None,
        }
    }

    fn log(&mut self, scene: &mut Scene) {
        scene.reach(Place::Tree);
        scene.log = true;
    }

    /// Returns what was sprayed. A group may be one that no product of the rulebook has: the log knows others.
    pub(super) fn sprayed(&mut self, what: &tree::Sprayed<'a>) -> Option<Sprayed> {
        match what {
            tree::Sprayed::Any => Some(Sprayed::Any),
            tree::Sprayed::Group(code) => Some(Sprayed::Group(code.value.into())),
            tree::Sprayed::Product(name) => {
                self.find(ItemKind::Product, name).map(|id| Sprayed::Product(ProductId(id)))
            }
        }
    }

    fn counted(&mut self, over: &tree::Counted<'a>, day: bool, span: Span) -> Option<Counted> {
        match over {
            tree::Counted::ThisSeason => Some(Counted::ThisSeason),
            tree::Counted::ThatDay if day => Some(Counted::ThatDay),
            tree::Counted::ThatDay => {
                let message = "`that day` is the day of a `daily`, and today is spoken of here";
                let help = "write `this season` or `over last 30 days`, or make it a `daily`";
                self.fail(Problem::new(Finding::KindMismatch, span, message).help(help))
            }
            tree::Counted::LastDays(number) => self.whole(number).map(Counted::LastDays),
        }
    }

    /// Says where no product contains an ingredient.
    pub(super) fn ingredient(&mut self, name: &Name<'a>) -> Option<()> {
        if self.ingredients.contains(name.value) {
            return Some(());
        }
        if self.broken_product {
            return None;
        }
        let near = self.catalogue.near(name.value, self.ingredients.iter().copied());
        let message = format!("no product contains `{}`", name.value);
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("a product says so in a line: `contains {}`", name.value),
        };
        self.fail(Problem::new(Finding::UnknownName, name.span, message).help(help))
    }

    /// Returns the observed date of this name.
    pub(super) fn dated(&mut self, name: &Name<'a>, scene: &mut Scene) -> Option<NameId> {
        let Some(meaning) = self.catalogue.meaning(name.value) else {
            if let Some(product) =
                self.catalogue.anything_called(name.value).filter(|what| *what == "a product")
            {
                let message = format!("expected an observed date, but `{}` is {product}", name.value);
                let help = format!("write `since last {}`", name.value);
                return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
            }
            let dates: Vec<&str> = self.catalogue.values(|kind, _| kind == ItemKind::Observe);
            let dates: Vec<&str> = dates
                .into_iter()
                .filter(|word| {
                    self.catalogue
                        .peek(word)
                        .is_some_and(|meaning| self.meaning_kind(meaning) == Some(Kind::Date))
                })
                .collect();
            return self.unknown_name_among(name, "an observed date", dates);
        };
        let id = match meaning {
            NameMeaning::Name(id) => id,
            NameMeaning::Series(_)
            | NameMeaning::Hourly(_)
            | NameMeaning::Daily(_)
            | NameMeaning::Figure(_) => {
                return self.no_date(name, self.meaning_kind(meaning));
            }
        };
        let id = self.name_subject(name, id, scene)?;
        let (_, kind) = self.kinded(Subject::Name(id))?;
        if kind == Kind::Date { Some(id) } else { self.no_date(name, Some(kind)) }
    }

    fn no_date<T>(&mut self, name: &Name<'a>, kind: Option<Kind>) -> Option<T> {
        let kind = self.called(kind?);
        let message = format!("expected an observed date, but `{}` is {kind}", name.value);
        self.fail(
            Problem::new(Finding::KindMismatch, name.span, message)
                .help("observe it as a date: `observe …` with `kind date`"),
        )
    }

    /// Checks what is asked of panicles and of the trees around.
    pub(super) fn land(&mut self, node: &Node<'a>, span: Span, scene: &mut Scene) -> Option<Typed> {
        if scene.speaks != Speaks::Tree {
            let message = "panicles and trees are seen of today, and are not spoken of here";
            return self
                .fail(Problem::new(Finding::KindMismatch, span, message).help("name it in a `measure`"));
        }
        match node {
            Node::Panicles(quantifier, condition) => {
                scene.reach(Place::Tree);
                let condition = self.condition(condition, &mut Scene::of(Speaks::Group))?;
                Some(typed(ExprNode::Panicles(*quantifier, condition), Kind::YesNo, Hint::Open, span))
            }
            Node::ShareOfPanicles(condition) => {
                scene.reach(Place::Tree);
                let condition = self.condition(condition, &mut Scene::of(Speaks::Group))?;
                Some(typed(ExprNode::ShareOfPanicles(condition), Kind::Share, Hint::Open, span))
            }
            Node::ShareOfTrees(place, condition) => {
                scene.reach(*place);
                let condition = self.condition(condition, &mut Scene::of(Speaks::Tree))?;
                Some(typed(ExprNode::ShareOfTrees(*place, condition), Kind::Share, Hint::Open, span))
            }
            Node::OfPanicles(statistic, name) => self.of_panicles(*statistic, name, span, scene),
            Node::LikelyRange(name) => self.likely_range(name, span, scene),
            _ => None,
        }
    }

    fn of_panicles(
        &mut self,
        statistic: Statistic,
        name: &Name<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        scene.reach(Place::Tree);
        let (subject, kind) = self.subject(name, &mut Scene::of(Speaks::Group))?;
        let Subject::Name(id) = subject else { return None };
        if self.plan[id].scope != Place::Panicles {
            let message = format!("`{}` is not seen of panicles, and has one value for the tree", name.value);
            let help = format!("write `{}` alone, or give its observation `of panicles`", name.value);
            return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
        }
        let ordered = matches!(kind, Kind::Words(list) if self.plan[list].ordered);
        let kind = match statistic {
            Statistic::Lowest | Statistic::Highest if ordered || kind == Kind::Date => kind,
            Statistic::Lowest | Statistic::Highest | Statistic::Mean | Statistic::Total => {
                self.statistic(statistic, kind, name)?
            }
        };
        Some(typed(ExprNode::OfPanicles(statistic, id), kind, Hint::Like(subject), span))
    }

    fn likely_range(&mut self, name: &Name<'a>, span: Span, scene: &mut Scene) -> Option<Typed> {
        let (subject, kind) = self.subject(name, scene)?;
        let Subject::Name(id) = subject else { return None };
        if kind != Kind::Share {
            let message =
                format!("a likely range is of a share, and `{}` is {}", name.value, self.called(kind));
            let help = "observe how many of how many: `kind share`";
            return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
        }
        let hint = Hint::Unit(crate::units::plain("%").unwrap_or_else(Unit::none));
        Some(typed(ExprNode::LikelyRange(id), Kind::Share, hint, span))
    }

    fn unknown_name_among<T>(&mut self, name: &Name<'a>, what: &str, words: Vec<&'a str>) -> Option<T> {
        if self.catalogue.is_broken(name.value) {
            return None;
        }
        let near = self.catalogue.near(name.value, words.iter().copied());
        let message = match self.catalogue.anything_called(name.value) {
            Some(other) => format!("expected {what}, but `{}` is {other}", name.value),
            None => format!("nothing is named `{}`", name.value),
        };
        let mut words = words;
        words.sort_unstable();
        let help = match near {
            Some(near) => Some(format!("did you mean `{near}`?")),
            None if !words.is_empty() && words.len() <= 6 => {
                Some(format!("there is {}", wording::both(words)))
            }
            None => None,
        };
        self.fail(Problem::new(Finding::UnknownName, name.span, message).maybe_help(help))
    }
}
