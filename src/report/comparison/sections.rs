//! What each edit of a rulebook changes, or several together: where, which verdicts, and one situation.

use super::Compared;
use super::edits::Edits;
use super::turns::{TurnRow, turn_rows};
use super::words::{self, counted, listed, named};
use crate::prove::compare::items::ItemChange;
use crate::prove::compare::{Headline, VerdictTurn};
use std::collections::{BTreeMap, BTreeSet};

/// How many signs of both sides of an item stand in a heading.
pub(super) const SHORT: usize = 40;
/// How many places of a section are told, and how many signs each has.
const PLACES: usize = 3;
const PLACE: usize = 150;

/// What one edit changes, or several together.
pub(super) struct Section<'a> {
    pub(super) title: String,
    pub(super) lines: Vec<(&'static str, String)>,
    pub(super) rows: Vec<TurnRow>,
    pub(super) again: Option<String>,
    pub(super) such: String,
    pub(super) turns: Vec<VerdictTurn>,
    pub(super) edits: BTreeSet<usize>,
    pub(super) headlines: Vec<&'a Headline>,
}

impl<'a> Compared<'a> {
    /// Returns what each edit changes, or several together: those with the most changes first.
    pub(super) fn sections(&self, edits: &Edits<'_>, numbers: &BTreeMap<usize, usize>) -> Vec<Section<'a>> {
        let mut groups: Vec<(BTreeSet<usize>, Vec<&'a Headline>)> = Vec::new();
        for headline in &self.comparison.headlines {
            let mut behind: BTreeSet<usize> =
                headline.because_of.iter().flat_map(|cause| edits.behind_cause(cause)).collect();
            if behind.is_empty() && edits.edited().count() == 1 {
                behind.extend(edits.edited().map(|(at, _)| at));
            }
            match groups.iter_mut().find(|(known, all)| {
                *known == behind && (!behind.is_empty() || all[0].because_of == headline.because_of)
            }) {
                Some((_, all)) => all.push(headline),
                None => groups.push((behind, vec![headline])),
            }
        }
        // An edit alone stands before several together.
        groups.sort_by(|(a, _), (b, _)| (a.len() != 1, a).cmp(&(b.len() != 1, b)));
        let mut told = BTreeSet::new();
        groups.into_iter().map(|(behind, all)| self.section(edits, numbers, behind, all, &mut told)).collect()
    }

    fn section(
        &self,
        edits: &Edits<'_>,
        numbers: &BTreeMap<usize, usize>,
        behind: BTreeSet<usize>,
        headlines: Vec<&'a Headline>,
        told: &mut BTreeSet<(String, String)>,
    ) -> Section<'a> {
        let items: Vec<&ItemChange> = behind.iter().filter_map(|at| self.comparison.items.get(*at)).collect();
        let causes: BTreeSet<&str> = headlines.iter().flat_map(|it| &it.because_of).map(|it| &**it).collect();
        let title = match &items[..] {
            [] if causes.is_empty() => "Several items together".to_owned(),
            [] => listed(&causes.iter().map(|it| named(it)).collect::<Vec<String>>()),
            [one] => {
                let number = behind.first().and_then(|at| numbers.get(at)).copied().unwrap_or(0);
                let short = |side: Option<String>, none: &str| side.unwrap_or_else(|| none.to_owned());
                let [was, now] = edits.sides(one);
                let sides = format!(": {} → {}", short(was, "none"), short(now, "gone"));
                let sides = if sides.chars().count() <= SHORT { &*sides } else { "" };
                format!("{number}. {}{sides}", named(&one.item))
            }
            several => {
                let names: Vec<String> = several.iter().map(|it| named(&it.item)).collect();
                format!("{} together", listed(&names))
            }
        };
        let is_itself = causes.iter().all(|cause| items.iter().any(|it| edits.is_cause(it, cause)));
        let by = |headline: &Headline| {
            listed(&headline.because_of.iter().map(|it| named(it)).collect::<Vec<String>>())
        };
        let signs = if headlines.len() > 1 { PLACE } else { 2 * PLACE };
        let place = |headline: &&Headline| {
            let by =
                if is_itself || items.len() != 1 { String::new() } else { format!(" ({})", by(headline)) };
            ("where", format!("{}{by}", words::where_words(headline, signs)))
        };
        let mut lines: Vec<(&'static str, String)> = headlines.iter().take(PLACES).map(place).collect();
        let causes_of = |headlines: &[&'a Headline]| -> BTreeSet<&'a str> {
            headlines.iter().flat_map(|it| &it.because_of).map(|it| &**it).collect()
        };
        let (shown, rest) = headlines.split_at(PLACES.min(headlines.len()));
        let more = causes_of(rest).difference(&causes_of(shown)).map(|it| named(it)).collect::<Vec<String>>();
        lines.extend((!more.is_empty()).then(|| ("and by", listed(&more))));
        lines.extend(
            headlines.iter().take(PLACES).flat_map(|it| self.stands_for(it)).collect::<BTreeSet<_>>(),
        );
        let mut turns: Vec<VerdictTurn> = Vec::new();
        for turn in headlines.iter().flat_map(|it| &it.turns) {
            if !turns.contains(turn) {
                turns.push(turn.clone());
            }
        }
        let is_new = |turn: &&VerdictTurn| told.insert((turn.was.clone(), turn.now.clone()));
        let new: Vec<VerdictTurn> = turns.iter().filter(is_new).cloned().collect();
        let again = turns.len() - new.len();
        let also = if new.is_empty() { "" } else { "also " };
        let lead = headlines.iter().find(|it| !it.lead.was_shut.is_empty()).or(headlines.first());
        let such = lead.map_or(String::new(), |it| words::such_words(it));
        Section {
            title,
            lines,
            rows: turn_rows(&new),
            again: (again > 0).then(|| format!("{also}{} told above", counted(again, "change"))),
            such,
            turns,
            edits: behind,
            headlines,
        }
    }

    /// Returns the changes of verdict that are in no section of the page.
    pub(super) fn turns_beside(&self, sections: &[Section<'_>]) -> Vec<VerdictTurn> {
        let named = |turn: &VerdictTurn| sections.iter().any(|it| it.turns.contains(turn));
        self.comparison.turns.iter().filter(|turn| !named(turn)).cloned().collect()
    }

    /// Returns a sentence that names the changes of verdict of which not every place is told.
    pub(super) fn cut(&self, shown: &[Section<'_>], rest: &[Section<'_>]) -> Option<String> {
        let is_cut = |it: &&&Headline| it.is_cut || it.elsewhere > 0;
        let cut = shown.iter().flat_map(|it| &it.headlines).filter(is_cut);
        let all = cut.chain(rest.iter().flat_map(|it| &it.headlines)).flat_map(|it| &it.turns);
        let changes = |turn: &VerdictTurn| turn.short.join(" → ");
        let told: BTreeSet<String> = all.map(changes).collect();
        let every: BTreeSet<String> = self.comparison.turns.iter().map(changes).collect();
        let of = match told.len() {
            0 => return None,
            more if more > 1 && told == every => "each change of verdict".to_owned(),
            _ => told.into_iter().collect::<Vec<String>>().join("; "),
        };
        Some(format!("There are more places than are listed here, of {of}."))
    }
}

impl Section<'_> {
    /// Returns which ways its verdicts moved.
    pub(super) fn ways(&self) -> impl Iterator<Item = &'static str> {
        self.turns.iter().map(VerdictTurn::words)
    }
}
