//! What a label asks for, and how it was not followed, in the words of a language's catalogue.

use super::Language;
use crate::advice::{LineKept, LineMet};
use crate::measure::Truth;
use crate::plan::{Gate, LabelWord, Plan, ProductId};

/// Returns what the label line asks for of which a gate is made; nothing where that is not said in days.
pub fn asks(plan: &Plan, gate: &Gate, language: Language) -> Option<String> {
    let line = gate.line.as_ref()?;
    asks_for(plan, (line.word, line.product, line.other), gate.label_days(plan)?, language)
}

/// Returns a label line that counts days and was not kept, with what was met; nothing of another line.
pub fn broken(plan: &Plan, line: &LineKept, language: Language) -> Option<String> {
    if line.broken != Truth::Yes {
        return None;
    }
    let asks = asks_for(plan, (line.word, line.owner, line.other), line.days?, language)?;
    let met = match &line.met {
        LineMet::Together => language.say("label.together", &[]),
        LineMet::Value(_, reading) => {
            let days = crate::units::clean(reading.extent.one_number()? / 24.0);
            let keys = match line.word {
                LabelWord::BeforeHarvest => ["label.left.none", "label.left.one", "label.left"],
                _ => ["label.passed.none", "label.passed.one", "label.passed"],
            };
            let [none, one, several] = keys;
            let key = match days {
                0.0 => none,
                1.0 => one,
                _ => several,
            };
            language.say(key, &[("count", &days.to_string())])
        }
        LineMet::Sprays(..) | LineMet::Amount(..) => return None,
    };
    Some(language.say("label.broken", &[("asks", &asks), ("met", &met)]))
}

fn asks_for(
    plan: &Plan,
    (word, owner, other): (LabelWord, ProductId, Option<ProductId>),
    days: f64,
    language: Language,
) -> Option<String> {
    let name = |id: ProductId| plan.products.get(id.index()).map(|product| product.label.to_string());
    let days = crate::units::clean(days);
    let days = match days {
        1.0 => language.say("label.days.one", &[]),
        days => language.say("label.days", &[("count", &days.to_string())]),
    };
    let owner = name(owner)?;
    match word {
        LabelWord::Apart => {
            let places = [("owner", &*owner), ("days", &days), ("other", &name(other?)?)];
            Some(language.say("label.asks.apart", &places))
        }
        LabelWord::Interval => {
            Some(language.say("label.asks.interval", &[("owner", &owner), ("days", &days)]))
        }
        LabelWord::BeforeHarvest => {
            Some(language.say("label.asks.harvest", &[("owner", &owner), ("days", &days)]))
        }
        LabelWord::Season | LabelWord::Year | LabelWord::Single => None,
    }
}
