//! Builds the clauses of what decides and of what is proved: bands, products, gates, choices, promises and worked
//! examples.

use super::grammar::Rule;
use super::pieces::{Built, PieceWalk, RulePiece};
use super::tree::{
    At, BandRow, Class, Clause, Dose, Expected, GateName, IsWhat, Label, LabelWord, Name, Never, Only,
    Quantity, Shut, Subject, Taken, TakenValue, Total, VerdictWord, Way,
};

impl<'s> PieceWalk<'s, '_> {
    /// Takes a row of a band.
    pub fn band_row(&mut self, whole: RulePiece) -> Built<Clause<'s>> {
        let caps = self.skip(Rule::at_most);
        let level = self.name()?;
        self.expect(Rule::kw_if)?;
        let condition = self.condition()?;
        let (mut because, mut cites) = (None, Vec::new());
        while self.peek_in(whole).is_some() {
            let clause = self.take()?;
            self.take()?;
            if clause.rule == Rule::cites {
                cites.extend(self.cites_inside(clause)?);
            } else if because.is_none() {
                because = Some(self.text()?);
            } else {
                let help =
                    "say it all in one `because`; what is true of the whole band stands before its rows";
                return self.refuse(self.span(clause), "this row of a band already has a `because`", help);
            }
        }
        Ok(Clause::BandRow(BandRow { caps, level, condition, because, cites }))
    }

    /// Takes what stands behind the first word of a clause of a product, a gate, a choice, a promise or an example.
    pub fn deciding_clause(&mut self, whole: RulePiece) -> Built<Clause<'s>> {
        Ok(match whole.rule {
            Rule::active => Clause::Active(self.text()?),
            Rule::group => Clause::Group(self.names(whole)?),
            Rule::contains => Clause::Contains(self.name()?),
            Rule::good_against => {
                Clause::GoodAgainst(self.each(whole, |walk, disease| Ok((disease, walk.goodness()?)))?)
            }
            Rule::class => {
                let piece = self.take()?;
                let class = if piece.rule == Rule::kw_organic { Class::Organic } else { Class::Restricted };
                Clause::Class(self.spanned(class, piece))
            }
            Rule::strength => {
                let name = self.name()?;
                let amount = self.quantity()?;
                Clause::Strength(name, amount, self.maybe_name(whole)?)
            }
            Rule::label => Clause::Label(self.label()?),
            Rule::shuts => {
                let mut shuts = Vec::new();
                while self.peek_in(whole).is_some() {
                    let piece = self.expect(Rule::shut)?;
                    let shut = self.shut(piece)?;
                    shuts.push(self.spanned(shut, piece));
                }
                Clause::Shuts(shuts)
            }
            Rule::holds => {
                let product = self.name()?;
                self.expect(Rule::kw_to)?;
                Clause::HoldsTo(product, self.name()?)
            }
            Rule::in_hours => Clause::InHours(self.condition()?),
            Rule::aims => Clause::Aims(self.names(whole)?),
            Rule::advise => Clause::Advise(self.way(whole)?),
            Rule::or_else_way => Clause::OrElse(self.way(whole)?),
            Rule::outranks => Clause::Outranks(self.names(whole)?),
            Rule::within => Clause::Within(self.quantity()?),
            Rule::recheck => {
                self.expect(Rule::kw_in)?;
                Clause::Recheck(self.quantity()?)
            }
            Rule::does => Clause::Do(self.text()?),
            Rule::says => Clause::Says(self.text()?),
            Rule::whenever => Clause::Whenever(self.condition()?),
            Rule::never => {
                let mut list = Vec::new();
                while self.peek_in(whole).is_some() {
                    let piece = self.expect(Rule::never_what)?;
                    let never = self.never_what()?;
                    list.push(self.spanned(never, piece));
                }
                Clause::Never(list)
            }
            Rule::only => {
                let mut list = Vec::new();
                while self.peek_in(whole).is_some() {
                    let piece = self.take()?;
                    let only = match verdict_word(piece.rule) {
                        Some(word) => Only::Verdict(word),
                        None => Only::Product(self.spanned(self.words(piece), piece)),
                    };
                    list.push(self.spanned(only, piece));
                }
                Clause::Only(list)
            }
            Rule::promised_task => Clause::PromisedTask(self.name()?),
            Rule::with_setting => Clause::With(self.name()?),
            Rule::take => {
                let mut list = Vec::new();
                while self.peek_in(whole).is_some() {
                    list.push(self.taken()?);
                }
                Clause::Take(list)
            }
            Rule::expect => Clause::Expect(self.expected()?),
            Rule::hours_from => {
                self.expect(Rule::kw_from)?;
                Clause::HoursFrom(self.text()?)
            }
            Rule::as_of => Clause::AsOf(self.name()?),
            _ => return self.odd(),
        })
    }

    fn maybe_name(&mut self, whole: RulePiece) -> Built<Option<Name<'s>>> {
        if self.peek_in(whole) == Some(Rule::name) { self.name().map(Some) } else { Ok(None) }
    }

    fn label(&mut self) -> Built<Label<'s>> {
        let whole = self.take()?;
        let word = self.take()?.rule;
        Ok(match whole.rule {
            Rule::label_interval => {
                self.expect(Rule::at_least)?;
                Label::Interval(self.quantity()?)
            }
            Rule::label_total => {
                let total = if word == Rule::kw_season { Total::Season } else { Total::Year };
                self.expect(Rule::at_most)?;
                if self.peek() == Some(Rule::number) {
                    let most = self.number()?;
                    self.expect(Rule::kw_sprays)?;
                    Label::Sprays(total, most)
                } else {
                    let (amount, of) = self.amount_of(whole)?;
                    Label::Amount(total, amount, of)
                }
            }
            Rule::label_single => {
                self.expect(Rule::at_most)?;
                let (amount, of) = self.amount_of(whole)?;
                Label::Single(amount, of)
            }
            Rule::label_harvest => {
                self.expect(Rule::at_least)?;
                Label::BeforeHarvest(self.quantity()?)
            }
            Rule::label_apart => {
                self.expect(Rule::kw_from)?;
                let other = self.name()?;
                self.expect(Rule::at_least)?;
                Label::Apart(other, self.quantity()?)
            }
            Rule::label_reentry => Label::ReEntry(self.quantity()?),
            _ => return self.odd(),
        })
    }

    fn amount_of(&mut self, whole: RulePiece) -> Built<(Quantity<'s>, Option<Name<'s>>)> {
        Ok((self.quantity()?, self.maybe_name(whole)?))
    }

    fn shut(&mut self, whole: RulePiece) -> Built<Shut<'s>> {
        if self.skip(Rule::kw_spraying) {
            return Ok(Shut::Spraying);
        }
        if self.skip(Rule::kw_group) {
            return self.name().map(Shut::Group);
        }
        let product = self.name()?;
        if self.peek_in(whole).is_none() {
            return Ok(Shut::Product(product));
        }
        self.expect(Rule::kw_with)?;
        Ok(Shut::Mix(product, self.name()?))
    }

    fn never_what(&mut self) -> Built<Never<'s>> {
        if self.peek() == Some(Rule::shut) {
            let piece = self.take()?;
            return self.shut(piece).map(Never::Shut);
        }
        let product = self.name()?;
        self.expect(Rule::kw_above)?;
        Ok(Never::Above(product, self.name()?))
    }

    fn way(&mut self, whole: RulePiece) -> Built<Way<'s>> {
        if self.peek() == Some(Rule::kw_hold) {
            let piece = self.take()?;
            return Ok(Way::Hold(self.place(piece)));
        }
        self.doses(whole).map(Way::Spray)
    }

    fn doses(&mut self, whole: RulePiece) -> Built<Vec<Dose<'s>>> {
        let mut doses = Vec::with_capacity(1);
        while self.peek_in(whole).is_some() {
            self.skip(Rule::kw_with);
            self.expect(Rule::dose)?;
            let product = self.name()?;
            self.expect(Rule::kw_at)?;
            doses.push(Dose { product, strength: self.name()? });
        }
        Ok(doses)
    }

    fn taken(&mut self) -> Built<Taken<'s>> {
        self.expect(Rule::taken)?;
        let name = self.name()?;
        let value = match self.peek() {
            Some(Rule::kw_unknown) => TakenValue::Unknown(At(self.name()?.span)),
            Some(Rule::kw_empty) => TakenValue::Empty(At(self.name()?.span)),
            Some(Rule::kw_from) => {
                self.take()?;
                let (low, high) = self.closed_range()?;
                TakenValue::FromTo(low, high)
            }
            _ => TakenValue::One(self.value()?),
        };
        Ok(Taken { name, value })
    }

    fn expected(&mut self) -> Built<Expected<'s>> {
        let whole = self.expect(Rule::expected)?;
        match self.peek() {
            Some(Rule::dose) => return self.doses(whole).map(Expected::Spray),
            Some(Rule::kw_by) => {
                self.take()?;
                return self.name().map(Expected::By);
            }
            Some(Rule::kw_task) => {
                self.take()?;
                return self.name().map(Expected::Task);
            }
            Some(Rule::kw_warning) => {
                self.take()?;
                return self.name().map(Expected::Warning);
            }
            Some(Rule::name) => {}
            _ => {
                let piece = self.take()?;
                let Some(word) = verdict_word(piece.rule) else { return self.odd() };
                return Ok(Expected::Verdict(self.spanned(word, piece)));
            }
        }
        let name = self.name()?;
        if self.skip(Rule::kw_allowed) {
            return Ok(Expected::Allowed(name));
        }
        if self.skip(Rule::kw_shut) {
            self.expect(Rule::kw_by)?;
            return Ok(Expected::ShutBy(name, self.gate_name()?));
        }
        let keys = if self.peek() == Some(Rule::keys) { self.expected_keys()? } else { Vec::new() };
        self.expect(Rule::kw_is)?;
        let what = match self.peek() {
            Some(Rule::kw_unknown) => IsWhat::Unknown(At(self.name()?.span)),
            Some(Rule::kw_empty) => IsWhat::Empty(At(self.name()?.span)),
            _ => IsWhat::Value(self.value()?),
        };
        let within = if self.peek_in(whole) == Some(Rule::kw_within) {
            self.take()?;
            Some(self.quantity()?)
        } else {
            None
        };
        Ok(Expected::Is(Subject { name, keys }, what, within))
    }

    fn gate_name(&mut self) -> Built<GateName<'s>> {
        let whole = self.expect(Rule::gate_name)?;
        let name = self.name()?;
        if self.peek_in(whole).is_none() {
            return Ok(GateName::Gate(name));
        }
        self.expect(Rule::kw_label)?;
        let word = match self.take()?.rule {
            Rule::kw_interval => LabelWord::Interval,
            Rule::kw_season => LabelWord::Season,
            Rule::kw_year => LabelWord::Year,
            Rule::kw_single => LabelWord::Single,
            Rule::kw_before_harvest => LabelWord::BeforeHarvest,
            Rule::kw_apart => LabelWord::Apart,
            _ => return self.odd(),
        };
        let other = if self.peek_in(whole) == Some(Rule::kw_from) {
            self.take()?;
            Some(self.name()?)
        } else {
            None
        };
        Ok(GateName::Label(name, word, other))
    }
}

/// Returns the verdict that a word names.
fn verdict_word(rule: Rule) -> Option<VerdictWord> {
    match rule {
        Rule::kw_hold => Some(VerdictWord::Hold),
        Rule::kw_look => Some(VerdictWord::Look),
        Rule::kw_undecided => Some(VerdictWord::Undecided),
        Rule::kw_uncovered => Some(VerdictWord::Uncovered),
        _ => None,
    }
}
