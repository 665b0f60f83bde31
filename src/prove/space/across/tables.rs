//! How tables, tallies and caps of two rulebooks stand to one another.

use super::{Across, DefinitionOf, place};
use crate::measure::{Extent, lookup};
use crate::plan::{Condition, Expr, ExprNode, Kind, NameId, Pattern, Table, Tally, TallyAdd};
use crate::prove::space::compute::{self, Anything};

impl<'p> Across<'_, 'p> {
    /// Returns whether a cap leaves no stronger strength than another: of the same product and the same use.
    pub(crate) fn fitting(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Expr>,
        DefinitionOf(j, b): DefinitionOf<'_, Expr>,
    ) -> bool {
        let (
            ExprNode::Fitting { product, ingredient, used, at_most, per },
            ExprNode::Fitting { product: of, ingredient: also, used: by, at_most: most, per: same },
        ) = (&*a.node, &*b.node)
        else {
            return false;
        };
        let meaning =
            |book: usize, name: &Option<NameId>| name.map(|it| self.rooted[book].definitions.name(it));
        let doses = |book: usize, product: crate::plan::ProductId| {
            self.plan(book).products.get(product.index()).map(|product| {
                let amounts = product.strengths.iter().map(|it| it.amount.quantity.to_bits());
                (product.name.clone(), amounts.collect::<Vec<u64>>())
            })
        };
        (ingredient, per) == (also, same)
            && meaning(i, used) == meaning(j, by)
            && doses(i, *product) == doses(j, *of)
            && at_most.value() <= most.value()
    }

    /// Returns whether a table gives no more than another at any keys.
    pub(crate) fn tables(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Table>,
        DefinitionOf(j, b): DefinitionOf<'_, Table>,
    ) -> bool {
        if a.keys == [Kind::Text] && b.keys == [Kind::Text] {
            return self.tables_of_texts(DefinitionOf(i, a), DefinitionOf(j, b));
        }
        self.at_keys(DefinitionOf(i, a), DefinitionOf(j, b), &|one, other| match (one.ends(), other.ends()) {
            (Some((_, high)), Some((low, _))) => high <= low,
            _ => one.is_empty() || other.is_empty(),
        })
    }

    /// Returns whether what two tables of one number give stands to one another as asked, whatever the number is.
    pub(super) fn at_keys(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Table>,
        DefinitionOf(j, b): DefinitionOf<'_, Table>,
        stands: &dyn Fn(Extent, Extent) -> bool,
    ) -> bool {
        let numeric =
            |table: &Table| table.keys.len() == 1 && table.keys.iter().all(|kind| kind.is_numeric());
        if !numeric(a) || !numeric(b) || a.between != b.between {
            return false;
        }
        // Between all edges of both they are constant or run straight.
        let mut edges: Vec<f64> = [a, b].into_iter().flat_map(edges_of).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let ends = edges.first().map(|it| it - 1.0).into_iter().chain(edges.last().map(|it| it + 1.0));
        let between = edges.windows(2).flat_map(|pair| {
            let [low, high] = [pair[0], pair[1]];
            [0.01, 0.5, 0.99].map(|part| low + (high - low) * part)
        });
        let keys: Vec<f64> = ends.chain(between).chain(edges.iter().copied()).collect();
        keys.into_iter().all(|key| {
            let at = [Extent::number(key)];
            stands(lookup(self.plan(i), a, &at).0, lookup(self.plan(j), b, &at).0)
        })
    }

    pub(super) fn tables_of_texts(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Table>,
        DefinitionOf(j, b): DefinitionOf<'_, Table>,
    ) -> bool {
        let plans = [self.plan(i), self.plan(j)];
        let known: std::collections::BTreeSet<&str> =
            plans.iter().flat_map(|plan| plan.texts.iter().map(|text| &**text)).collect();
        let texts = known.into_iter().map(Some).chain([None]);
        texts.into_iter().all(|text| {
            let given = [(0, a), (1, b)].map(|(at, table)| {
                let text = text.map_or(crate::plan::TextId::OTHER, |text| plans[at].text(text));
                lookup(plans[at], table, &[Extent::datum(crate::plan::Datum::Text(text))]).0
            });
            given[0] == given[1]
                || match given.map(place) {
                    [Some((_, high)), Some((low, _))] => high <= low,
                    _ => false,
                }
        })
    }

    /// Returns whether a tally is never above another: on each day no more is added to it.
    pub(crate) fn tallies(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Tally>,
        DefinitionOf(j, b): DefinitionOf<'_, Tally>,
        deep: usize,
    ) -> bool {
        let same = |x: &Option<Condition>, y: &Option<Condition>| {
            let of = |book: usize, it: &Option<Condition>| {
                it.as_ref().map(|it| self.rooted[book].definitions.condition(it))
            };
            of(i, x) == of(j, y)
        };
        let kept = match (a.kept, b.kept) {
            (None, None) => true,
            (Some((low, high)), Some((from, to))) => low <= from && high <= to,
            _ => false,
        };
        let over = self.is_within(DefinitionOf(i, &a.over), DefinitionOf(j, &b.over))
            && self.is_within(DefinitionOf(j, &b.over), DefinitionOf(i, &a.over));
        if !over || !kept || a.begins != b.begins || a.starts > b.starts {
            return false;
        }
        if !same(&a.waits_for, &b.waits_for) || !same(&a.reset, &b.reset) {
            return false;
        }
        let mut left: Vec<&TallyAdd> = b.adds.iter().collect();
        let mut unmatched = Vec::new();
        for add in &a.adds {
            let is_same = |other: &&TallyAdd| {
                self.is_same(DefinitionOf(i, &add.amount), DefinitionOf(j, &other.amount))
                    && same(&add.condition, &other.condition)
            };
            match left.iter().position(is_same) {
                Some(at) => drop(left.remove(at)),
                None => unmatched.push(add),
            }
        }
        for add in unmatched {
            match left
                .iter()
                .position(|other| self.adds_no_more(DefinitionOf(i, add), DefinitionOf(j, other), deep))
            {
                Some(at) => drop(left.remove(at)),
                // What is only taken away makes no more of it.
                None if self.is_never_positive(i, &add.amount) => {}
                None => return false,
            }
        }
        left.iter().all(|other| self.is_never_negative(j, &other.amount))
    }

    pub(super) fn is_never_positive(&self, book: usize, expr: &Expr) -> bool {
        let plan = self.plan(book);
        compute::of_expr(plan, expr, &Anything { plan }).ends().is_some_and(|(_, high)| high <= 0.0)
    }

    /// Returns whether what one adds on a day is never more than what another adds on it.
    pub(super) fn adds_no_more(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, TallyAdd>,
        DefinitionOf(j, b): DefinitionOf<'_, TallyAdd>,
        deep: usize,
    ) -> bool {
        let always = Condition::All(Vec::new());
        let [x, y] = [a, b].map(|add| add.condition.as_ref().unwrap_or(&always));
        let is_always = |condition: &Condition| *condition == Condition::All(Vec::new());
        let implies = is_always(y) || self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep);
        let implied = is_always(x) || self.implies(DefinitionOf(j, y), DefinitionOf(i, x), deep);
        self.exprs(DefinitionOf(i, &a.amount), DefinitionOf(j, &b.amount), deep)
            && (implies || self.is_never_positive(i, &a.amount))
            && (implied || self.is_never_negative(j, &b.amount))
            && (implies || implied)
    }
}

fn edges_of(table: &Table) -> Vec<f64> {
    let mut edges = Vec::new();
    for pattern in table.rows.iter().flat_map(|row| &row.patterns) {
        match pattern {
            Pattern::Numbers { low, high } => {
                edges.extend([low, high].into_iter().flatten().map(|(at, _)| at.value()));
            }
            Pattern::Is(crate::plan::Datum::Number(at)) => edges.push(*at),
            Pattern::Is(_) | Pattern::Any => {}
        }
    }
    edges
}
