//! Builds items and their clauses.
//!
//! Comes in: the pieces of one item that the grammar has read. Goes out: the item of the tree.

use super::grammar::Rule;
use super::pieces::{Built, PieceWalk, RulePiece};
use super::tree::{
    Between, Beyond, Cite, Clause, Condition, Goodness, Item, ItemKind, KindWord, Name, Place, Spanned,
    Stage, Text, Verb,
};

/// An item of a kind as far as its head is read.
struct ItemHead<'s> {
    name: Option<Name<'s>>,
    label: Option<Text>,
}

impl<'s> PieceWalk<'s, '_> {
    /// Takes a whole item.
    pub fn item(&mut self) -> Built<Item<'s>> {
        let whole = self.take()?;
        match whole.rule {
            Rule::replace => {
                self.expect(Rule::kw_replace)?;
                let inner = self.take()?;
                self.defined(whole, inner, Verb::Replace)
            }
            Rule::omit => {
                self.expect(Rule::kw_omit)?;
                self.defined(whole, whole, Verb::Omit)
            }
            _ => self.defined(whole, whole, Verb::Define),
        }
    }

    /// Takes what stands behind `replace` or `omit`, or a whole item of its own.
    fn defined(&mut self, outer: RulePiece, inner: RulePiece, verb: Verb) -> Built<Item<'s>> {
        let word = self.take()?;
        let kind = match verb {
            Verb::Omit => omitted_kind(self.words(word)),
            Verb::Define | Verb::Replace => item_kind(self.words(word)),
        };
        let Some(kind) = kind else { return self.odd() };
        let head = self.head(kind, inner)?;
        let mut clauses = Vec::with_capacity(8);
        let the_bases = kind == ItemKind::Rulebook && edition_is_the_bases(self.pieces());
        while let Some(rule) = self.peek_in(inner) {
            match rule {
                Rule::EOI => break,
                Rule::builds_on => self.builds_on(the_bases, &mut clauses)?,
                _ => clauses.push(self.clause()?),
            }
        }
        let mut end = self.span(word).to(self.span(RulePiece { end: outer.start, ..outer }));
        for span in [head.name.map(|name| name.span), head.label.as_ref().map(|label| label.span)] {
            end = span.map_or(end, |span| end.to(span));
        }
        let span = clauses.last().map_or(end, |clause| end.to(clause.span));
        Ok(Item { span, verb, kind, word: self.span(word), name: head.name, label: head.label, clauses })
    }

    fn head(&mut self, kind: ItemKind, whole: RulePiece) -> Built<ItemHead<'s>> {
        let titled = matches!(kind, ItemKind::Rulebook | ItemKind::Worked | ItemKind::Caution);
        let name = if titled { None } else { Some(self.name()?) };
        Ok(ItemHead { name, label: self.maybe_text(whole)? })
    }

    /// Takes `builds-on`, and an edition straight after it: the base's, or a clause of its own.
    fn builds_on(&mut self, the_bases: bool, clauses: &mut Vec<Spanned<Clause<'s>>>) -> Built<()> {
        let whole = self.expect(Rule::builds_on)?;
        let word = self.expect(Rule::kw_builds_on)?;
        let path = self.text()?;
        let span = self.span(word).to(path.span);
        if self.peek_in(whole).is_none() {
            clauses.push(Spanned::new(Clause::BuildsOn(path, None), span));
            return Ok(());
        }
        let piece = self.expect(Rule::edition)?;
        self.expect(Rule::kw_edition)?;
        let edition = self.text()?;
        if the_bases {
            clauses.push(Spanned::new(Clause::BuildsOn(path, Some(edition)), self.span(whole)));
        } else {
            clauses.push(Spanned::new(Clause::BuildsOn(path, None), span));
            clauses.push(self.spanned(Clause::Edition(edition), piece));
        }
        Ok(())
    }

    /// Takes a clause.
    fn clause(&mut self) -> Built<Spanned<Clause<'s>>> {
        // What follows `=` has its place from there, and a condition or an expression has no word of its own.
        match self.peek() {
            Some(Rule::equals) => {
                self.take()?;
                return self.defined_as();
            }
            Some(Rule::condition) => {
                let condition = self.condition()?;
                let span = condition.span();
                return Ok(Spanned::new(Clause::Statement(condition), span));
            }
            _ => {}
        }
        let whole = self.take()?;
        let clause = match whole.rule {
            Rule::stage => self.stage(whole)?,
            Rule::row => self.row()?,
            Rule::band_row => self.band_row(whole)?,
            _ => {
                self.take()?;
                self.worded_clause(whole)?
            }
        };
        Ok(self.spanned(clause, whole))
    }

    /// Takes what stands behind `=`.
    fn defined_as(&mut self) -> Built<Spanned<Clause<'s>>> {
        Ok(match self.peek() {
            Some(Rule::condition) => {
                let condition = self.condition()?;
                let span = condition.span();
                Spanned::new(Clause::Holds(condition), span)
            }
            Some(Rule::expression) => {
                let expression = self.expression()?;
                let span = expression.span;
                Spanned::new(Clause::Yields(expression), span)
            }
            _ => {
                let value = self.value()?;
                let span = value.span();
                Spanned::new(Clause::Value(value), span)
            }
        })
    }

    /// Takes what stands behind a clause's first word.
    fn worded_clause(&mut self, whole: RulePiece) -> Built<Clause<'s>> {
        Ok(match whole.rule {
            Rule::crop => Clause::Crop(self.name()?),
            Rule::region => Clause::Region(self.text()?),
            Rule::edition => Clause::Edition(self.text()?),
            Rule::in_force => {
                self.expect(Rule::kw_from)?;
                let from = self.date()?;
                self.expect(Rule::kw_to)?;
                Clause::InForce(from, self.date()?)
            }
            Rule::season => {
                self.expect(Rule::kw_from)?;
                let from = self.day_of_year()?;
                self.expect(Rule::kw_to)?;
                Clause::Season(from, self.day_of_year()?)
            }
            Rule::spray_window => {
                self.expect(Rule::at_least)?;
                let length = self.quantity()?;
                self.expect(Rule::kw_within)?;
                Clause::SprayWindow(length, self.quantity()?)
            }
            Rule::gaps => {
                self.expect(Rule::at_most)?;
                Clause::Gaps(self.quantity()?)
            }
            Rule::accuracy => {
                Clause::Accuracy(self.each(whole, |walk, series| Ok((series, walk.quantity()?)))?)
            }
            Rule::contact => Clause::Contact(self.text()?),
            Rule::caution => Clause::Caution(self.text()?),
            Rule::tightens => Clause::Tightens,
            Rule::because => Clause::Because(self.text()?),
            Rule::cites | Rule::cites_in_text_table => Clause::Cites(self.cites_inside(whole)?),
            Rule::if_clause => Clause::If(self.condition()?),
            Rule::unless_clause => Clause::Unless(self.condition()?),
            Rule::of_place | Rule::of_seen => Clause::Of(match self.take()?.rule {
                Rule::kw_grove => Place::Grove,
                Rule::kw_block => Place::Block,
                Rule::kw_panicles => Place::Panicles,
                _ => Place::Tree,
            }),
            Rule::recalled => Clause::Recalled,
            Rule::kind_clause => Clause::Kind(self.kind()?),
            Rule::range => {
                self.expect(Rule::kw_from)?;
                let (low, high) = self.closed_range()?;
                Clause::Range(low, high)
            }
            Rule::ask => Clause::Ask(self.text()?),
            Rule::how => Clause::How(self.text()?),
            Rule::lasts => Clause::Lasts(self.quantity()?),
            Rule::assume => {
                let value = self.value()?;
                let when = if self.peek_in(whole).is_some() { self.if_inside()? } else { None };
                Clause::Assume(value, when)
            }
            Rule::days_begin => {
                self.expect(Rule::kw_begin)?;
                Clause::DaysBegin(self.clock()?)
            }
            Rule::valid_if => {
                self.expect(Rule::kw_if)?;
                Clause::ValidIf(self.condition()?)
            }
            Rule::key_kinds => {
                let mut kinds = Vec::new();
                while self.peek_in(whole).is_some() {
                    kinds.push(self.kind()?);
                }
                Clause::Keys(kinds)
            }
            Rule::gives => Clause::Gives(self.kind()?),
            Rule::between => Clause::Between(match self.take()?.rule {
                Rule::kw_linear => Between::Linear,
                Rule::kw_step => Between::Step,
                _ => Between::Exact,
            }),
            Rule::beyond => Clause::Beyond(match self.take()?.rule {
                Rule::kw_empty => Beyond::Empty,
                Rule::kw_ends => Beyond::Ends,
                _ => Beyond::Unknown,
            }),
            Rule::otherwise => Clause::Otherwise(self.cell()?),
            Rule::tally_over => Clause::Over(self.window()?),
            Rule::waits_for => {
                self.expect(Rule::kw_for)?;
                Clause::WaitsFor(self.condition()?)
            }
            Rule::starts => Clause::Starts(self.value()?),
            Rule::add => {
                let amount = self.amount()?;
                let when = if self.peek_in(whole).is_some() { self.if_inside()? } else { None };
                Clause::Add(amount, when)
            }
            Rule::tally_kept => {
                let (low, high) = self.closed_range()?;
                Clause::Kept(low, high)
            }
            Rule::reset => {
                self.expect(Rule::kw_if)?;
                Clause::Reset(self.condition()?)
            }
            Rule::levels => Clause::Levels(self.names(whole)?),
            _ => return self.deciding_clause(whole),
        })
    }

    /// Takes `if CONDITION`.
    fn if_inside(&mut self) -> Built<Option<Condition<'s>>> {
        self.expect(Rule::kw_if)?;
        self.condition().map(Some)
    }

    /// Takes cited sources up to the end of a clause.
    pub fn cites_inside(&mut self, whole: RulePiece) -> Built<Vec<Cite<'s>>> {
        self.each(whole, |walk, key| Ok(Cite { key, locator: walk.maybe_text(whole)? }))
    }

    fn kind(&mut self) -> Built<KindWord<'s>> {
        let whole = self.expect(Rule::kind)?;
        if self.skip(Rule::one_of) {
            return Ok(KindWord::OneOf(self.names(whole)?));
        }
        self.name().map(KindWord::Named)
    }

    fn stage(&mut self, whole: RulePiece) -> Built<Clause<'s>> {
        let name = self.name()?;
        let mut codes = None;
        if self.peek_in(whole) == Some(Rule::code) {
            let first = self.code()?;
            let ranges = self.peek_in(whole) == Some(Rule::kw_to);
            if ranges {
                self.take()?;
            }
            let last = if ranges { self.code()? } else { first };
            codes = Some((first, last));
        }
        Ok(Clause::Stage(Stage { name, codes, label: self.maybe_text(whole)? }))
    }

    fn row(&mut self) -> Built<Clause<'s>> {
        let mut patterns = Vec::new();
        while self.peek() == Some(Rule::pattern) {
            patterns.push(self.pattern()?);
        }
        Ok(Clause::Row(patterns, self.cell()?))
    }

    /// Takes how well a product works against a disease.
    pub fn goodness(&mut self) -> Built<Goodness> {
        match self.take()?.rule {
            Rule::kw_good => Ok(Goodness::Good),
            Rule::kw_moderate => Ok(Goodness::Moderate),
            Rule::kw_slight => Ok(Goodness::Slight),
            _ => self.odd(),
        }
    }
}

/// Returns the kind of item that a word begins.
pub(super) fn item_kind(word: &str) -> Option<ItemKind> {
    ItemKind::ALL.iter().copied().find(|kind| kind.word() == word)
}

/// Returns the kind of what a word behind `omit` leaves out.
pub(super) fn omitted_kind(word: &str) -> Option<ItemKind> {
    item_kind(word).or((word == ItemKind::Caution.word()).then_some(ItemKind::Caution))
}

/// Returns whether an edition straight after `builds-on` is the base's: the head has another one for the file itself.
pub(super) fn edition_is_the_bases(pieces: &[RulePiece]) -> bool {
    let is_edition = |piece: &RulePiece| piece.rule == Rule::edition;
    let after_builds_on = pieces.iter().enumerate().filter(|(at, piece)| {
        let parts = pieces.get(*at..piece.next as usize).unwrap_or_default();
        piece.rule == Rule::builds_on && parts.iter().any(is_edition)
    });
    pieces.iter().filter(|piece| is_edition(piece)).count() > after_builds_on.count()
}
