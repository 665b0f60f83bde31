//! The author's words for what the grammar calls by rules: what was expected, and which clauses an item has.
//!
//! Comes in: a rule or a kind of item. Goes out: words to print.

use super::grammar::Rule;
use super::tree::ItemKind;

/// Returns the words that begin the clauses of an item of a kind.
pub(super) fn clauses(kind: ItemKind) -> &'static [&'static str] {
    match kind {
        ItemKind::Rulebook => &[
            "crop",
            "region",
            "edition",
            "in-force",
            "season",
            "builds-on",
            "window",
            "gaps",
            "accuracy",
            "contact",
            "caution",
            "tightens",
        ],
        ItemKind::Source => &["recalled"],
        ItemKind::Disease => &[],
        ItemKind::Scale | ItemKind::Figure | ItemKind::Hourly | ItemKind::Always => &["because", "cites"],
        ItemKind::Observe => &["kind", "of", "range", "ask", "how", "lasts", "assume", "because", "cites"],
        ItemKind::Daily => &["days begin", "valid if", "because", "cites"],
        ItemKind::Measure => &["valid if", "because", "cites"],
        ItemKind::Table => &["of", "gives", "between", "beyond", "otherwise", "because", "cites"],
        ItemKind::Tally => {
            &["over", "waits for", "starts", "add", "kept from", "reset if", "because", "cites"]
        }
        ItemKind::Band => &["levels", "because", "cites"],
        ItemKind::Product => &[
            "active", "group", "contains", "against", "class", "strength", "label", "caution", "because",
            "cites",
        ],
        ItemKind::Gate => &["shuts", "holds", "in hours when", "if", "unless", "because", "cites"],
        ItemKind::Prefer => &["in hours when", "because", "cites"],
        ItemKind::Choice => &[
            "against", "advise", "or else", "if", "unless", "outranks", "within", "recheck", "how",
            "because", "cites",
        ],
        ItemKind::Task => &["do", "of", "if", "unless", "because", "cites"],
        ItemKind::Warning => &["says", "of", "if", "unless", "because", "cites"],
        ItemKind::Promise => &["whenever", "never", "only", "task", "because", "cites"],
        ItemKind::Worked => &["with", "take", "expect", "hours from", "as-of", "because", "cites"],
        ItemKind::Setting => &["take", "because", "cites"],
        ItemKind::Caution => &["because"],
    }
}

/// Returns the words of a rule that is a word or a phrase.
pub(super) fn phrase(rule: Rule) -> Option<String> {
    match rule {
        Rule::lookup_at => return Some("at".to_owned()),
        Rule::unit_h => return Some("h".to_owned()),
        Rule::plus => return Some("+".to_owned()),
        Rule::minus => return Some("-".to_owned()),
        Rule::times => return Some("*".to_owned()),
        Rule::divided_by => return Some("/".to_owned()),
        Rule::to_the_power => return Some("^".to_owned()),
        Rule::equals => return Some("=".to_owned()),
        _ => {}
    }
    let phrases = [
        Rule::at_least,
        Rule::at_most,
        Rule::one_of,
        Rule::is_one_of,
        Rule::is_not,
        Rule::or_else,
        Rule::kept_from,
        Rule::rounded_to,
        Rule::in_hours_when,
        Rule::panicles_with,
        Rule::share_of,
        Rule::of_panicles,
        Rule::hours_with,
        Rule::spells_with,
        Rule::days_with,
        Rule::spell_with,
        Rule::of_at_least,
        Rule::across_gaps_below,
        Rule::likely_range_of,
        Rule::greater_of,
        Rule::lesser_of,
        Rule::square_root_of,
        Rule::natural_log_of,
        Rule::exponential_of,
        Rule::sprays_in_a_row_of,
        Rule::this_season,
        Rule::that_day,
        Rule::that_night,
        Rule::to_that_hour,
        Rule::after_that_hour,
        Rule::to_that_day,
        Rule::after_the_last,
    ];
    let name = format!("{rule:?}");
    if phrases.contains(&rule) {
        return Some(name.replace('_', " "));
    }
    name.strip_prefix("kw_").map(|word| word.replace('_', "-"))
}

/// Returns what a rule stands for in the author's words, if it is worth naming.
fn described(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::quantity => "a quantity such as `12 mm`",
        Rule::signed | Rule::number => "a number",
        Rule::unit | Rule::rate | Rule::ppm | Rule::amount_unit | Rule::base_unit => "a unit such as `mm`",
        Rule::name => "a name",
        Rule::weather => "a weather series such as `rain`",
        Rule::text => "a text in double quotes",
        Rule::date => "a date such as `2027-02-11`",
        Rule::day_of_year => "a day such as `1 Dec`",
        Rule::clock => "a time of day such as `06:30`",
        Rule::moment => "a moment such as `2027-02-11T05:30`",
        Rule::code => "a code such as `511`",
        Rule::group_code => "a group's code such as `M01`",
        Rule::kind | Rule::kind_word => "a kind such as `share` or `temperature`",
        Rule::condition | Rule::band_condition | Rule::group_test | Rule::band_group_test => {
            "a condition such as `rain above 0 mm`"
        }
        Rule::parenthesis | Rule::parenthesised => "a parenthesis",
        Rule::comparison => "a comparison such as `at least 20 %`",
        Rule::expression => "a value to compute, such as `lowest temperature over last 3 nights`",
        Rule::aggregate | Rule::worded | Rule::history | Rule::land | Rule::likely => "a value to compute",
        Rule::window => "a window such as `last 72 h`",
        Rule::spell => "a spell such as `longest spell with spore-wet`",
        Rule::sprayed => "a product, `group` and its code, or `spray`",
        Rule::row | Rule::pattern => "a row such as `15 °C   26 h`",
        Rule::cell => "what the row gives",
        Rule::band_row => "a row such as `severe if cool-damp at least 18 h`",
        Rule::stage => "a stage such as `dormant 510 \"buds closed\"`",
        Rule::label | Rule::label_total => "a label line such as `season at most 6 sprays`",
        Rule::shut => "what to shut: a product, `group` and its code, or `spraying`",
        Rule::never_what => "what must never be advised: a product, `group` and its code, or `spraying`",
        Rule::dose => "a product `at` a strength",
        Rule::taken => "a name and its value, such as `flowers-open 85 %`",
        Rule::expected => "what to expect, such as `copper at reduced`, `hold` or `copper shut by GATE`",
        Rule::gate_name => "the name of a gate",
        Rule::keys => "the keys of a table, such as `at 15 °C`",
        _ => return None,
    })
}

/// Returns what was expected, in the author's words: things first, then words, then the next clause.
pub(super) fn expected(rules: &[Rule], kind: Option<ItemKind>) -> Vec<String> {
    let heads = kind.map(clauses).unwrap_or_default();
    let computes = rules.contains(&Rule::aggregate);
    let value = rules.contains(&Rule::kw_yes) && rules.contains(&Rule::text);
    let item = rules.contains(&Rule::kw_gate) && rules.contains(&Rule::kw_measure);
    let (mut things, mut words, mut clause_heads) = (Vec::new(), Vec::new(), 0);
    if value && !computes {
        let name = if rules.contains(&Rule::name) { " or a name" } else { "" };
        things.push(format!("a value such as `12 mm` or `\"Kent\"`{name}"));
    }
    if item {
        things.push("the word of an item, such as `gate`".to_owned());
    }
    for rule in rules {
        if (value || computes) && is_part_of_a_value(*rule) {
            continue;
        }
        if let Some(thing) = described(*rule) {
            if !things.iter().any(|known| known == thing) {
                things.push(thing.to_owned());
            }
            continue;
        }
        let Some(word) = phrase(*rule) else { continue };
        if item && ItemKind::ALL.iter().any(|kind| kind.word() == word) {
            continue;
        }
        let word = format!("`{word}`");
        clause_heads += usize::from(is_head(heads, &word));
        if !words.contains(&word) {
            words.push(word);
        }
    }
    if clause_heads > 2 {
        words.retain(|word| !is_head(heads, word));
    }
    things.extend(words);
    things.truncate(6);
    if clause_heads > 2 {
        things.push(format!("a clause of {}", with_article(kind.map_or("item", ItemKind::word))));
    }
    things
}

/// Returns whether a word in backticks begins one of the clauses.
fn is_head(heads: &[&str], word: &str) -> bool {
    heads.iter().any(|head| head.starts_with(word.trim_matches('`')))
}

/// Returns whether a rule is one of the many forms of a value, which are named together.
fn is_part_of_a_value(rule: Rule) -> bool {
    let forms = [
        Rule::kw_yes,
        Rule::kw_no,
        Rule::text,
        Rule::name,
        Rule::weather,
        Rule::signed,
        Rule::quantity,
        Rule::date,
        Rule::clock,
        Rule::day_of_year,
        Rule::parenthesised,
        Rule::likely_range_of,
    ];
    forms.contains(&rule)
}

/// Returns a word behind the article that it takes.
pub(super) fn with_article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} `{word}`")
}

/// Joins words as a list is read: `a, b or c`.
pub(super) fn joined(words: &[String], last: &str) -> String {
    match words {
        [] => String::new(),
        [word] => word.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}
