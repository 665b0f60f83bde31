//! Conditions of a tree, of a group of panicles, of an hour and of a day.
//!
//! Comes in: a condition as written and what it speaks of. Goes out: a condition of the plan, and the narrowest
//! part of a grove that it speaks of.

use super::Checker;
use super::catalogue::NameMeaning;
use super::wording;
use crate::plan::{
    Compare, Condition, Expr, ExprNode, HourlyId, ItemKind, Kind, Measure, Name, NameId, Origin, Place,
    Quantifier, Subject, Test, Why,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree;
use crate::units::Unit;

/// What a condition or an expression speaks of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Speaks {
    /// A tree today; wider parts of the grove too.
    Tree,
    /// A group of panicles of a tree.
    Group,
    /// An hour.
    Hour,
    /// A day, in a `daily`.
    Day,
    /// A day, in a tally.
    Tally,
}

/// Where a condition or an expression stands, and what it has spoken of so far.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    /// What it speaks of.
    pub(super) speaks: Speaks,
    /// The narrowest part of a grove that it speaks of.
    pub(super) place: Place,
    /// Whether it speaks of the spray log.
    pub(super) log: bool,
    /// When the days begin that it speaks of, the latest of them, in minutes after midnight.
    pub(super) begins: u16,
    /// The tallies that it speaks of.
    pub(super) tallies: Vec<NameId>,
    /// Whether one name may be compared with another.
    pub(super) compares_names: bool,
}

impl Scene {
    /// Begins a scene that speaks of this.
    pub(super) fn of(speaks: Speaks) -> Self {
        Self {
            speaks,
            place: Place::Grove,
            log: false,
            begins: 0,
            tallies: Vec::new(),
            compares_names: false,
        }
    }

    /// Notes that something of a part of the grove was spoken of.
    pub(super) fn reach(&mut self, place: Place) {
        self.place = self.place.max(place);
    }
}

impl<'a> Checker<'a> {
    /// Checks a condition.
    pub(super) fn condition(
        &mut self,
        written: &tree::Condition<'a>,
        scene: &mut Scene,
    ) -> Option<Condition> {
        match written {
            tree::Condition::Parenthesis(inner, _) => self.condition(inner, scene),
            tree::Condition::Not(inner, _) => Some(match self.condition(inner, scene)? {
                Condition::Not(twice) => *twice,
                inner => Condition::Not(Box::new(inner)),
            }),
            tree::Condition::All(parts) => {
                let parts = self.parts(parts, scene)?;
                let mut flat = Vec::with_capacity(parts.len());
                for part in parts {
                    match part {
                        Condition::All(inner) => flat.extend(inner),
                        part => flat.push(part),
                    }
                }
                Some(Condition::All(flat))
            }
            tree::Condition::Any(parts) => {
                let parts = self.parts(parts, scene)?;
                let mut flat = Vec::with_capacity(parts.len());
                for part in parts {
                    match part {
                        Condition::Any(inner) => flat.extend(inner),
                        part => flat.push(part),
                    }
                }
                Some(Condition::Any(flat))
            }
            tree::Condition::Bare(name) => self.bare(name, scene),
            tree::Condition::Test(name, comparison, place) => {
                let (subject, kind) = self.subject(name, scene)?;
                let compare = self.compare(name.value, subject, kind, comparison, place.0, scene)?;
                let written = wording::condition(written).into();
                Some(Condition::Test(Test { subject, compare, written, span: place.0 }))
            }
            tree::Condition::Panicles(quantifier, inner, place) => {
                let id = self.panicles(*quantifier, inner, place.0, scene)?;
                scene.reach(Place::Tree);
                let written = wording::condition(written).into();
                Some(Condition::Test(Test {
                    subject: Subject::Name(id),
                    compare: Compare::Words(0b10),
                    written,
                    span: place.0,
                }))
            }
        }
    }

    fn parts(&mut self, parts: &[tree::Condition<'a>], scene: &mut Scene) -> Option<Vec<Condition>> {
        // All parts are checked, whatever is wrong with the first.
        let checked: Vec<Option<Condition>> = parts.iter().map(|part| self.condition(part, scene)).collect();
        checked.into_iter().collect()
    }

    fn bare(&mut self, name: &tree::Name<'a>, scene: &mut Scene) -> Option<Condition> {
        let (subject, kind) = self.subject(name, scene)?;
        if kind != Kind::YesNo {
            let message =
                format!("`{}` is {}, and only yes or no stands alone", name.value, self.called(kind));
            let help = match kind {
                Kind::Words(_) => format!("compare it: `{} is …`", name.value),
                Kind::Text => format!("compare it: `{} is \"…\"`", name.value),
                _ => format!("compare it: `{} at least …`", name.value),
            };
            return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
        }
        Some(Condition::Test(Test {
            subject,
            compare: Compare::Words(0b10),
            written: name.value.into(),
            span: name.span,
        }))
    }

    /// Returns what a name in a condition stands for, with its kind.
    pub(super) fn subject(&mut self, name: &tree::Name<'a>, scene: &mut Scene) -> Option<(Subject, Kind)> {
        let speaks = scene.speaks;
        let Some(meaning) = self.catalogue.meaning(name.value) else {
            return self.unknown_name(
                name,
                "a name that can be judged",
                move |kind, meaning| match meaning {
                    NameMeaning::Series(_) | NameMeaning::Hourly(_) => speaks == Speaks::Hour,
                    NameMeaning::Daily(_) => matches!(speaks, Speaks::Day | Speaks::Tally),
                    NameMeaning::Name(_) => match speaks {
                        Speaks::Tree | Speaks::Group => true,
                        Speaks::Day | Speaks::Tally => kind == ItemKind::Tally,
                        Speaks::Hour => false,
                    },
                    NameMeaning::Figure(_) => false,
                },
            );
        };
        match (meaning, speaks) {
            (NameMeaning::Figure(_), _) => {
                let message =
                    format!("`{}` is a figure, and a condition begins with what is judged", name.value);
                self.fail(
                    Problem::new(Finding::KindMismatch, name.span, message)
                        .help(format!("write the figure last: `… at least {}`", name.value)),
                )
            }
            (NameMeaning::Series(series), Speaks::Hour) => Some((Subject::Series(series), series.kind())),
            (NameMeaning::Hourly(id), Speaks::Hour) => self.kinded(Subject::Hourly(id)),
            (NameMeaning::Daily(id), Speaks::Day | Speaks::Tally) => {
                self.meets_daily(id, scene);
                self.kinded(Subject::Daily(id))
            }
            (NameMeaning::Name(id), _) => {
                self.name_subject(name, id, scene).and_then(|id| self.kinded(Subject::Name(id)))
            }
            (NameMeaning::Series(_) | NameMeaning::Hourly(_) | NameMeaning::Daily(_), _) => {
                self.misplaced(name, meaning, speaks)
            }
        }
    }

    /// Returns a subject with its kind, nothing where its definition is in error.
    pub(super) fn kinded(&self, subject: Subject) -> Option<(Subject, Kind)> {
        self.made.get(&subject).and_then(|made| made.kind).map(|kind| (subject, kind))
    }

    /// Notes that a `daily` was spoken of.
    pub(super) fn meets_daily(&mut self, id: crate::plan::DailyId, scene: &mut Scene) {
        if let Some(daily) = self.plan.dailies.get(id.index()) {
            scene.log |= daily.of_log;
            scene.begins = scene.begins.max(daily.begins);
            if daily.of_log {
                scene.place = scene.place.max(Place::Tree);
            }
        }
    }

    /// Returns a name of the plan that may be spoken of here.
    pub(super) fn name_subject(
        &mut self,
        name: &tree::Name<'a>,
        id: NameId,
        scene: &mut Scene,
    ) -> Option<NameId> {
        let found = self.plan.names.get(id.index())?;
        let place = found.scope;
        let is_tally = self.catalogue.defines(name.value, ItemKind::Tally);
        match scene.speaks {
            Speaks::Group => {
                scene.reach(place.min(Place::Tree));
                Some(id)
            }
            Speaks::Tree if place == Place::Panicles => self.bare_panicles(name, id),
            Speaks::Tree => {
                scene.reach(place);
                Some(id)
            }
            Speaks::Day | Speaks::Tally if is_tally => {
                scene.reach(place);
                scene.log |= place >= Place::Tree;
                if let Some(Name { origin: Origin::Tally(tally), .. }) = self.plan.names.get(id.index()) {
                    scene.begins = scene.begins.max(tally.begins);
                }
                if !scene.tallies.contains(&id) {
                    scene.tallies.push(id);
                }
                Some(id)
            }
            Speaks::Hour | Speaks::Day | Speaks::Tally => {
                self.misplaced(name, NameMeaning::Name(id), scene.speaks)
            }
        }
    }

    /// Says that an observation of panicles stands where a tree is judged.
    pub(super) fn bare_panicles<T>(&mut self, name: &tree::Name<'a>, id: NameId) -> Option<T> {
        let word = name.value;
        let kind = self.made.get(&Subject::Name(id)).and_then(|made| made.kind);
        let mut ways =
            vec![format!("some panicles with ({word} …)"), format!("all panicles with ({word} …)")];
        if kind.is_none_or(Kind::is_numeric) {
            ways.push(format!("mean {word} of panicles"));
            ways.push(format!("lowest {word} of panicles"));
        }
        ways.push(format!("share of panicles with {word} …"));
        let message = format!(
            "`{word}` is seen of panicles, and a tree may carry several blooms: say which one is meant"
        );
        self.fail(
            Problem::new(Finding::KindMismatch, name.span, message)
                .label("a tree is judged here")
                .help(format!(
                    "write {}; the last forms in a `measure`",
                    wording::either(ways.iter().map(String::as_str))
                ))
                .related(self.plan[id].span, format!("`{word}` is defined here")),
        )
    }

    /// Says that a name stands where something else is spoken of.
    pub(super) fn misplaced<T>(
        &mut self,
        name: &tree::Name<'a>,
        meaning: NameMeaning,
        speaks: Speaks,
    ) -> Option<T> {
        let word = name.value;
        let here = match speaks {
            Speaks::Tree => "a tree today is judged here",
            Speaks::Group => "a group of panicles is judged here",
            Speaks::Hour => "an hour is judged here",
            Speaks::Day | Speaks::Tally => "a day is judged here",
        };
        let (what, help) = match (meaning, speaks) {
            (NameMeaning::Series(_) | NameMeaning::Hourly(_), Speaks::Day | Speaks::Tally) => {
                ("of an hour", format!("name it in a `daily`: `{}`", self.aggregated(word, meaning, "that day")))
            }
            (NameMeaning::Series(_) | NameMeaning::Hourly(_), _) => {
                ("of an hour", format!("name it in a measure: `{}`", self.aggregated(word, meaning, "last 24 h")))
            }
            (NameMeaning::Daily(_), Speaks::Hour) => {
                ("of a day", "hours are judged by the weather series and by `hourly` names".to_string())
            }
            (NameMeaning::Daily(_), _) => {
                let yes_no = self.meaning_kind(meaning) == Some(Kind::YesNo);
                let form = if yes_no { format!("days with {word}") } else { format!("highest {word}") };
                ("of a day", format!("name it in a measure: `{form} over last 7 days`"))
            }
            (NameMeaning::Name(_) | NameMeaning::Figure(_), Speaks::Hour) => (
                "of today",
                "hours are judged by the weather series and by `hourly` names; what is true today belongs to `if`"
                    .to_string(),
            ),
            (NameMeaning::Name(_) | NameMeaning::Figure(_), _) => {
                ("of today", "a day is judged by `daily` names and by tallies".to_string())
            }
        };
        let message = format!("`{word}` is {what}, and {here}");
        self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help))
    }

    fn aggregated(&self, word: &str, meaning: NameMeaning, window: &str) -> String {
        let kind = self.meaning_kind(meaning);
        match kind {
            Some(Kind::YesNo) => format!("hours with {word} over {window}"),
            Some(_) if word == "rain" => format!("total {word} over {window}"),
            Some(_) | None => format!("highest {word} over {window}"),
        }
    }

    /// Returns the kind of what a name stands for.
    pub(super) fn meaning_kind(&self, meaning: NameMeaning) -> Option<Kind> {
        let subject = match meaning {
            NameMeaning::Series(series) => return Some(series.kind()),
            NameMeaning::Figure(id) => return self.plan.figures.get(id.index()).map(|figure| figure.kind),
            NameMeaning::Name(id) => Subject::Name(id),
            NameMeaning::Hourly(HourlyId(id)) => Subject::Hourly(HourlyId(id)),
            NameMeaning::Daily(id) => Subject::Daily(id),
        };
        self.made.get(&subject).and_then(|made| made.kind)
    }

    /// Returns the name that stands for a condition of a tree's groups: a measure's of the same expression, or a
    /// hidden one.
    fn panicles(
        &mut self,
        quantifier: Quantifier,
        inner: &tree::Condition<'a>,
        span: Span,
        scene: &Scene,
    ) -> Option<NameId> {
        match scene.speaks {
            Speaks::Tree => {}
            Speaks::Group => {
                let message =
                    "one group of panicles is judged here, and this asks for all groups of the tree";
                let help =
                    "name it in a measure outside, and use that name: `measure … = some panicles with …`";
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
            Speaks::Hour | Speaks::Day | Speaks::Tally => {
                let what = if scene.speaks == Speaks::Hour { "an hour" } else { "a day" };
                let message = format!("panicles are seen of today, and {what} is judged here");
                let help = "what is true of the tree today belongs to the `if` of a gate or a choice";
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
        }
        let condition = self.condition(inner, &mut Scene::of(Speaks::Group))?;
        let word = wording::panicles(quantifier, inner);
        let node = ExprNode::Panicles(quantifier, condition);
        Some(self.hidden(word, node, Kind::YesNo, Unit::none(), span))
    }

    /// Returns the name with this expression: a measure that has it, a hidden name made before, or a new one.
    pub(super) fn hidden(
        &mut self,
        word: String,
        node: ExprNode,
        kind: Kind,
        unit: Unit,
        span: Span,
    ) -> NameId {
        if let Some(id) = self.hidden.get(&word) {
            self.met_hidden.insert(*id);
            return *id;
        }
        let id = NameId(self.plan.names.len() as u32);
        let expr = Expr { node: Box::new(node), kind, span };
        self.plan.names.push(Name {
            word: word.as_str().into(),
            label: word.as_str().into(),
            hidden: true,
            kind,
            unit: unit.clone(),
            scope: Place::Tree,
            origin: Origin::Measure(Measure { expr, valid_if: None }),
            why: Why::default(),
            span,
        });
        self.made.insert(
            Subject::Name(id),
            super::Made { kind: Some(kind), hint: super::units_of::Hint::Unit(unit) },
        );
        self.hidden.insert(word, id);
        id
    }
}
