//! The hours of a spray in words: open windows, pieces that are shorter than the guide asks for with what fits into them,
//! and the compromise where nothing that is open will do.

use super::Page;
use super::when::length;
use crate::advice::{Hours, Window};
use crate::report::count;
use crate::sprayday::{Fits, Work};

/// What is to be sprayed in the hours.
pub(crate) struct Spraying {
    /// How long it takes, where that is known.
    pub work: Option<Work>,
    /// Whether the page is one tree's, and says nothing of the others of its spray.
    pub one_tree: bool,
}

/// Returns the hours of a spray, a sentence each, in order of time.
pub(crate) fn hours_words(page: &Page<'_>, hours: &Hours, spraying: &Spraying) -> Vec<String> {
    let plan = page.scene.plan;
    let at_least = plan.head.window.0;
    let of_window = |window: &Window| {
        let better = match window.preferred {
            (0, _) => String::new(),
            (liked, of) => format!(" (better hours: {liked} of {of})"),
        };
        let short = hours.short.contains(window);
        let fits = spraying.fits(window.hours(), short).map_or_else(String::new, |fits| format!("; {fits}"));
        let only = match short {
            true => {
                format!(": only {} (the guide asks for {})", length(window), hours_of_time(at_least))
            }
            false => String::new(),
        };
        page.words().span_ahead(window.from, window.to) + &better + &only + &fits
    };
    let mut said: Vec<String> = hours.open().iter().map(of_window).collect();
    if !hours.usable(spraying.work.as_ref().map(Work::loads)).is_empty() {
        return said;
    }
    let what = match hours.short.is_empty() {
        true => "none is open".to_string(),
        false if spraying.work.is_some() => "none that is open is long enough for a load".to_string(),
        false => format!("none is open for {}", hours_of_time(at_least)),
    };
    said.push(match &hours.compromise {
        Some((window, broken)) => format!(
            "{what}. The best that labels and pollinators leave: {}; against it: {}",
            page.words().span_ahead(window.from, window.to),
            page.words().gates(broken)
        ),
        None if hours.not_checked.is_empty() => format!("{what}, and labels and pollinators leave no other"),
        None if hours.short.is_empty() => "none is known to be open".to_string(),
        None => format!("{what}, as far as is known"),
    });
    said
}

impl Spraying {
    /// Returns what fits into so many hours; of a piece that is long enough anyway, only where not all of it does.
    fn fits(&self, hours: f64, short: bool) -> Option<String> {
        let Some(work) = &self.work else {
            return short.then(|| "what fits is not known without the `pace` of the sprayer".to_string());
        };
        let takes = hours_of_time(work.hours());
        let (loads, trees) = (work.loads().len(), work.trees());
        let tree = if trees == 1 { "tree" } else { "trees" };
        Some(match work.fits(hours) {
            Fits::All if !short => return None,
            Fits::All if self.one_tree => format!("enough for this tree ({takes})"),
            Fits::All => format!("all of it fits ({takes})"),
            Fits::Loads(fitting, done) => format!("{fitting} of {loads} loads fit ({})", count(done)),
            Fits::Trees(_) | Fits::Nothing if self.one_tree => format!("not enough for this tree ({takes})"),
            Fits::Trees(fitting) if loads == 1 => {
                format!("{fitting} of {trees} {tree} fit, with a smaller load")
            }
            Fits::Trees(fitting) => {
                format!("no full load fits; {fitting} of {trees} {tree} do, with a smaller one")
            }
            Fits::Nothing => "not one tree fits".to_string(),
        })
    }
}

/// Returns a length of time, rounded up to whole minutes: `2 h`, `1 h 30 min`.
fn hours_of_time(hours: f64) -> String {
    super::when::minutes(libm::ceil(hours * 60.0 - 1e-6) as i64)
}
