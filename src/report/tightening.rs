//! What came of an overlay's promise to only tighten its base, as findings.

use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems};
use crate::prove::tightens::{Loosened, Loosens, NotProved, Tightening};

/// Returns what is to be said of an overlay that says that it tightens.
pub fn findings(overlay: &Plan, tightening: &Tightening) -> Problems {
    let head = overlay.head.span;
    let mut problems = Problems::default();
    for loosened in &tightening.loosened {
        problems.push(match loosened {
            Loosened::Verdict { was, now, situation, because_of, certified } => {
                let grove = if *certified { "in a certified organic grove " } else { "" };
                let causes = match &because_of[..] {
                    [] => String::new(),
                    some => {
                        let names: Vec<String> = some.iter().map(|it| format!("`{it}`")).collect();
                        format!(" by {}", names.join(" and "))
                    }
                };
                let message = format!(
                    "it says that it only tightens its base, and {grove}turns {was} into {now}{causes}"
                );
                let mut problem = Problem::new(Finding::LoosensBase, head, message)
                    .help("shut it with a gate, or take `tightens` out of the head");
                problem.situation.clone_from(&situation.values);
                problem
            }
            // It is an error at the `omit`.
            Loosened::Item { how: Loosens::HeadCaution, .. } => continue,
            Loosened::Item { item, how, now } => {
                let message = format!("it says that it only tightens its base, and `{item}` {}", words(*how));
                Problem::new(Finding::LoosensBase, now.unwrap_or(head), message)
                    .help("keep to what the base says, or take `tightens` out of the head")
            }
        });
    }
    if tightening.more > 0 {
        let message = format!(
            "it says that it only tightens its base: {} more changes of verdict loosen it; `bloomward compare` lists all",
            tightening.more
        );
        problems.push(Problem::new(Finding::LoosensBase, head, message));
    }
    for (name, now, was) in &tightening.weaker_promises {
        let message = format!(
            "it says that it only tightens its base, and its promise `{name}` is not shown to promise as much"
        );
        let help = "no verdict changes by that, but nothing proves any more what the base promises: keep its promise, and \
                    add one of your own";
        problems.push(
            Problem::new(Finding::PromiseDropped, *now, message)
                .related(*was, "the base promises it here")
                .help(help),
        );
    }
    for not_proved in &tightening.not_proved {
        problems.push(match not_proved {
            NotProved::Verdicts => Problem::new(
                Finding::NotDecided,
                head,
                "it is not proved that it only tightens its base: there are too many situations",
            ),
            NotProved::Item { item, now } => {
                let message =
                    format!("it is not proved that it only tightens its base: that depends on `{item}`");
                Problem::new(Finding::NotDecided, now.unwrap_or(head), message)
                    .help("keep what the base has, and add a gate of its own for what is shut besides")
            }
        });
    }
    problems
}

fn words(how: Loosens) -> &'static str {
    match how {
        Loosens::Hours => "leaves hours open that the base shuts",
        Loosens::Window => "takes a shorter spray window, or looks for one further ahead",
        Loosens::Gaps => "lets more hours be missing",
        Loosens::Accuracy => "takes instruments to be off by less, so that fewer readings are close calls",
        Loosens::Season => "counts from another day of the year, and so what a label allows in a season",
        Loosens::Within => "gives more time",
        Loosens::Recheck => "asks to look again later",
        Loosens::Label => "allows more",
        Loosens::LabelGone => "is gone",
        Loosens::ReEntry => "lets people in earlier",
        Loosens::Assumed => "takes a value where nothing was seen",
        Loosens::AssumedOtherwise => "takes another value where nothing was seen, or takes it more often",
        Loosens::Lasts => "takes for longer what was seen once",
        Loosens::Range => "has another range, so that more is taken, or what was not seen can be less",
        Loosens::Seen => "asks something else under the same name",
        Loosens::Scale => "has other levels or codes",
        Loosens::Always => "no longer refuses every grove that the base refuses as an error in the data",
        Loosens::Counted => "is counted otherwise in the log: other groups, or another ingredient",
        Loosens::Organic => "is allowed in certified organic groves",
        Loosens::Caution | Loosens::HeadCaution => "is gone",
        Loosens::Warning => "is gone, or given less often",
    }
}
