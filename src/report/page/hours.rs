//! The hours of a spray in words: open windows, pieces that are shorter than the guide asks for with what fits into them,
//! and the compromise where nothing that is open will do.

use super::Page;
use super::when::length;
use crate::advice::{Hours, Window};
use crate::sprayday::{Fits, Work};
use crate::words::Words;

/// What is to be sprayed in the hours.
pub(crate) struct Spraying {
    /// How long it takes, where that is known.
    pub work: Option<Work>,
    /// Whether the page is one tree's, and says nothing of the others of its spray.
    pub one_tree: bool,
}

/// Returns the hours of a spray, a sentence each, in order of time.
pub(crate) fn hours_words(page: &Page<'_>, hours: &Hours, spraying: &Spraying) -> Vec<String> {
    let words = page.words();
    let least = hours_of_time(page.scene.plan.head.window.0);
    let of_window = |window: &Window| {
        let mut said = words.window(window);
        if let (liked @ 1.., of) = window.preferred {
            let (liked, all) = (liked.to_string(), of.to_string());
            said = words.say("page.hours.better", &[("span", &said), ("liked", &liked), ("all", &all)]);
        }
        let short = hours.short.contains(window);
        if short {
            let places = [("span", &*said), ("length", &length(window)), ("least", &least)];
            said = words.say("page.hours.short", &places);
        }
        // The first tank is filled before its hour comes, but not before now.
        let is_under_way = window.from <= page.advice.as_of;
        let fill = spraying.work.as_ref().filter(|_| is_under_way).map_or(0.0, Work::fill);
        match spraying.fits(words, window.hours() - fill, short) {
            Some(fits) => words.say("page.hours.fits", &[("hours", &said), ("fits", &fits)]),
            None => said,
        }
    };
    let mut said: Vec<String> = hours.open().iter().map(of_window).collect();
    if !hours.usable(spraying.work.as_ref().map(Work::loads)).is_empty() {
        return said;
    }
    let what = match hours.short.is_empty() {
        true => words.say("page.hours.none", &[]),
        false if spraying.work.is_some() => words.say("page.hours.none.load", &[]),
        false => words.say("page.hours.none.long", &[("least", &least)]),
    };
    said.push(match &hours.compromise {
        Some((window, broken)) => words.say(
            "page.hours.compromise",
            &[("what", &what), ("span", &words.window(window)), ("gates", &words.gates(broken))],
        ),
        None if hours.not_checked.is_empty() => words.say("page.hours.closed", &[("what", &what)]),
        None if hours.short.is_empty() => words.say("page.hours.unknown", &[]),
        None => words.say("page.hours.known", &[("what", &what)]),
    });
    said
}

impl Spraying {
    /// Returns what fits into so many hours; of a piece that is long enough anyway, only where not all of it does.
    fn fits(&self, words: Words<'_>, hours: f64, short: bool) -> Option<String> {
        let Some(work) = &self.work else {
            return short.then(|| words.say("page.fits.unknown", &[]));
        };
        let takes = hours_of_time(work.hours());
        let loads = work.loads().len();
        let trees = words.language.trees(work.trees());
        let of = |key: &str, fitting: usize| {
            words.say(key, &[("fitting", &fitting.to_string()), ("trees", &trees)])
        };
        Some(match work.fits(hours) {
            Fits::All if !short => return None,
            Fits::All if self.one_tree => words.say("page.fits.this", &[("takes", &takes)]),
            Fits::All => words.say("page.fits.all", &[("takes", &takes)]),
            Fits::Loads(fitting, done) => {
                let (fitting, loads) = (fitting.to_string(), loads.to_string());
                let places =
                    [("fitting", &*fitting), ("loads", &loads), ("trees", &words.language.trees(done))];
                words.say("page.fits.loads", &places)
            }
            Fits::Trees(_) | Fits::Nothing if self.one_tree => {
                words.say("page.fits.this.not", &[("takes", &takes)])
            }
            Fits::Trees(fitting) if loads == 1 => of("page.fits.trees", fitting),
            Fits::Trees(fitting) => of("page.fits.small", fitting),
            Fits::Nothing => words.say("page.fits.nothing", &[]),
        })
    }
}

/// Returns a length of time, rounded up to whole minutes: `2 h`, `1 h 30 min`.
pub fn hours_of_time(hours: f64) -> String {
    super::when::minutes(libm::ceil(hours * 60.0 - 1e-6) as i64)
}
