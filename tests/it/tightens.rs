//! Overlays that promise to only tighten their base: what loosens is found, with a situation or the item, and what tightens passes.

use crate::proofs::{plan, plan_of};
use bloomward::plan::Plan;
use bloomward::prove::BUDGET;
use bloomward::prove::tightens::{Loosened, Loosens, NotProved, Tightening, tightens};

const BASIS: &str = "observe heat\n  kind temperature\n  range from 0 °C to 50 °C\n  lasts 2 d\n\
    observe mildew\n  kind share\n\
    observe spots\n  kind count\n  range from 0 to 9\n\
    observe young\n  kind yes-no\n  assume no if spots below 2\n\
    product copper\n  contains copper\n  strength low 600 ppm copper\n  strength high 1200 ppm copper\n\
    \x20 label interval at least 7 d\n  label season at most 6 sprays\n  label season at most 12 kg / ha copper\n\
    \x20 label re-entry 48 h\n  label apart from sulfur at least 3 d\n  caution \"Wear gloves.\"\n  cites own\n\
    product sulfur\n  class organic\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product oil\n  class organic\n  strength low 1 mL/L\n  cites own\n";

const RULES: &str = "figure hot = 30 °C\n\
    band danger\n  levels low, great\n  great if mildew above 10 % and spots at least 2\n  because \"made\"\n  cites own\n\
    gate heat-gate\n  shuts sulfur\n  if heat at least hot\n  cites own\n\
    gate windy\n  shuts spraying\n  in hours when wind above 10 mph\n  cites own\n\
    choice fight\n  advise sulfur at high\n  or else copper at low\n  if danger is great\n  outranks guard, rest\n\
    \x20 recheck in 3 d\n  cites own\n\
    choice guard\n  advise oil at low\n  if spots at least 1\n  outranks rest\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n\
    warning burns\n  says \"it burns\"\n  if heat at least 25 °C\n  cites own\n";

fn of(new: &str) -> Tightening {
    both(&format!("{BASIS}{RULES}"), new)
}

fn both(old: &str, new: &str) -> Tightening {
    let plans: [Plan; 2] = [plan(old), plan(new)];
    tightens(&plans[0], &plans[1], BUDGET)
}

/// Replaces some of the text once, which must be there.
#[track_caller]
fn edited(from: &str, to: &str) -> String {
    let text = format!("{BASIS}{RULES}");
    assert!(text.contains(from), "{from}");
    text.replacen(from, to, 1)
}

#[track_caller]
fn kept(new: &str) {
    let found = of(new);
    assert!(found.is_kept(), "{found:#?}");
}

/// Returns the verdicts that loosen, as words.
fn turns(found: &Tightening) -> Vec<(String, String)> {
    let turn = |it: &Loosened| match it {
        Loosened::Verdict { was, now, .. } => Some((was.clone(), now.clone())),
        Loosened::Item { .. } => None,
    };
    found.loosened.iter().filter_map(turn).collect()
}

#[track_caller]
fn loosened_by(new: &str, how: Loosens, item: &str) {
    let found = of(new);
    let is_it =
        |it: &Loosened| matches!(it, Loosened::Item { item: of, how: by, .. } if *by == how && of == item);
    assert!(found.loosened.iter().any(is_it), "{item} {how:?}: {found:#?}");
}

#[test]
fn what_takes_away_is_proved() {
    kept(&format!("{BASIS}{RULES}"));
    let gate =
        |does: &str, when: &str| format!("{BASIS}{RULES}gate own\n  {does}\n  if {when}\n  cites own\n");
    kept(&gate("shuts spraying", "spots at least 5"));
    kept(&gate("holds sulfur to low", "spots at least 5"));
    // What it shuts falls through to what the base would take next: its `or else`, then the next choice in rank.
    kept(&gate("shuts sulfur", "spots at least 5"));
    kept(&format!(
        "{}gate more\n  shuts copper\n  if spots at least 4\n  cites own\n",
        gate("shuts sulfur", "spots at least 5")
    ));
    // A lower threshold of a gate, a weaker strength, a hold that outranks.
    kept(&edited("hot = 30 °C", "hot = 25 °C"));
    kept(&edited("sulfur at high", "sulfur at low"));
    kept(&edited("strength high 2 g/L", "strength high 1.5 g/L"));
    kept(&format!(
        "{BASIS}{RULES}choice wait\n  advise hold\n  if heat below 5 °C\n  outranks fight, guard, rest\n  cites own\n"
    ));
    // Stricter hours, labels, and less that is known.
    kept(&edited("wind above 10 mph", "wind above 8 mph"));
    kept(&edited("wind above 10 mph", "wind above 10 mph or gust above 20 mph"));
    kept(&format!("{BASIS}{RULES}gate dark\n  shuts spraying\n  in hours when daylight\n  cites own\n"));
    kept(&edited("interval at least 7 d", "interval at least 10 d"));
    kept(&edited("at most 6 sprays", "at most 4 sprays"));
    kept(&edited("at most 12 kg / ha copper", "at most 10 kg / ha copper"));
    kept(&edited("re-entry 48 h", "re-entry 72 h"));
    kept(&edited("apart from sulfur at least 3 d", "apart from sulfur at least 5 d"));
    kept(&edited("  lasts 2 d", "  lasts 1 d"));
    kept(&edited("  assume no if spots below 2\n", ""));
    kept(&edited("assume no if spots below 2", "assume no if spots below 1"));
    kept(&edited("recheck in 3 d", "recheck in 2 d"));
    kept(&edited("if heat at least 25 °C", "if heat at least 20 °C"));
    // A warning that a stricter figure takes away with what it opens.
    let warned = |hot: &str| {
        edited("hot = 30 °C", &format!("hot = {hot} °C"))
            + "warning late\n  says \"late\"\n  if heat below hot\n  cites own\n"
    };
    let found = both(&warned("30"), &warned("28"));
    assert!(found.is_kept(), "{found:#?}");
    // A range that leaves some of all that is told apart.
    kept(&edited("range from 0 to 9", "range from 0 to 6"));
}

#[test]
fn what_gives_is_an_error_with_a_situation() {
    let found = of(&edited("hot = 30 °C", "hot = 35 °C"));
    // To sulfur from copper, and from oil where a label shuts copper.
    let from: Vec<bool> =
        turns(&found).iter().map(|(was, _)| was.contains("copper") || was.contains("oil")).collect();
    assert_eq!(from, [true, true], "{found:#?}");
    assert!(turns(&found).iter().all(|(_, now)| now.contains("sulfur")), "{found:#?}");
    let Loosened::Verdict { situation, because_of, .. } = &found.loosened[0] else { panic!("{found:#?}") };
    assert_eq!(because_of, &["gate heat-gate"]);
    let heat = situation.values["heat"]["value"].as_f64().unwrap();
    assert!((30.0..35.0).contains(&heat), "{situation:?}");
    // A hold that becomes a spray, and a strength that becomes stronger.
    let found = of(&edited("if spots at least 1", "if spots at least 0"));
    assert!(matches!(&turns(&found)[..], [(was, now)] if was == "hold" && now.contains("oil")), "{found:#?}");
    assert!(!turns(&of(&edited("or else copper at low", "or else copper at high"))).is_empty());
    // Another product, where nothing is shut; and where something is, not the one that the base would take.
    assert!(
        !turns(&of(&edited(
            "choice fight\n  advise sulfur at high\n  or else copper at low",
            "choice fight\n  advise copper at low"
        )))
        .is_empty()
    );
    let shut = edited("  or else copper at low\n", "")
        + "gate own\n  shuts sulfur\n  if spots at least 5\n  cites own\n";
    assert!(!turns(&of(&shut)).is_empty());
    // A choice that holds in fewer situations lets others lead: nothing is shut.
    assert!(!turns(&of(&edited("if danger is great", "if danger is great and spots at least 3"))).is_empty());
    // A gate that is gone.
    assert!(
        !turns(&of(&edited("gate heat-gate\n  shuts sulfur\n  if heat at least hot\n  cites own\n", "")))
            .is_empty()
    );
    // Where no choice holds any more nothing is said, which is no hold.
    assert!(
        !turns(&of(&edited(
            "choice rest\n  advise hold\n",
            "choice rest\n  advise hold\n  if heat below 40 °C\n"
        )))
        .is_empty()
    );
}

#[test]
fn what_opens_beside_verdicts_is_an_error_at_its_item() {
    loosened_by(&edited("wind above 10 mph", "wind above 12 mph"), Loosens::Hours, "gate windy");
    loosened_by(
        &edited("wind above 10 mph", "wind above 10 mph and rain above 0 mm"),
        Loosens::Hours,
        "gate windy",
    );
    loosened_by(
        &edited("wind above 10 mph\n", "wind above 10 mph\n  if spots at least 1\n"),
        Loosens::Hours,
        "gate windy",
    );
    loosened_by(&edited("shuts spraying", "shuts sulfur"), Loosens::Hours, "gate windy");
    loosened_by(
        &edited("gate windy\n  shuts spraying\n  in hours when wind above 10 mph\n  cites own\n", ""),
        Loosens::Hours,
        "gate windy",
    );
    loosened_by(
        &edited("interval at least 7 d", "interval at least 5 d"),
        Loosens::Label,
        "label of copper interval",
    );
    loosened_by(
        &edited("  label interval at least 7 d\n", ""),
        Loosens::LabelGone,
        "label of copper interval",
    );
    loosened_by(&edited("at most 6 sprays", "at most 8 sprays"), Loosens::Label, "label of copper season");
    loosened_by(
        &edited("at most 12 kg / ha", "at most 13 kg / ha"),
        Loosens::Label,
        "label of copper season",
    );
    loosened_by(
        &edited("  label season at most 6 sprays\n", ""),
        Loosens::LabelGone,
        "label of copper season",
    );
    loosened_by(&edited("at least 3 d", "at least 2 d"), Loosens::Label, "label of copper apart");
    loosened_by(&edited("re-entry 48 h", "re-entry 1 h"), Loosens::ReEntry, "label of copper re-entry");
    loosened_by(&edited("  lasts 2 d", "  lasts 3 d"), Loosens::Lasts, "observe heat");
    loosened_by(&edited("  lasts 2 d\n", ""), Loosens::Lasts, "observe heat");
    loosened_by(&edited("kind share\n", "kind share\n  assume 0 %\n"), Loosens::Assumed, "observe mildew");
    loosened_by(
        &edited("assume no if spots below 2", "assume yes if spots below 2"),
        Loosens::AssumedOtherwise,
        "observe young",
    );
    loosened_by(
        &edited("assume no if spots below 2", "assume no if spots below 3"),
        Loosens::AssumedOtherwise,
        "observe young",
    );
    loosened_by(
        &edited("assume no if spots below 2", "assume no"),
        Loosens::AssumedOtherwise,
        "observe young",
    );
    loosened_by(&edited("range from 0 to 9", "range from 0 to 12"), Loosens::Range, "observe spots");
    // What was not seen could be none before, and can be one at least now.
    loosened_by(&edited("range from 0 to 9", "range from 1 to 9"), Loosens::Range, "observe spots");
    loosened_by(&edited("recheck in 3 d", "recheck in 5 d"), Loosens::Recheck, "choice fight");
    loosened_by(
        &edited("  caution \"Wear gloves.\"\n", ""),
        Loosens::Caution,
        "caution of copper \"Wear gloves.\"",
    );
    loosened_by(
        &edited("if heat at least 25 °C", "if heat at least 28 °C"),
        Loosens::Warning,
        "warning burns",
    );
    loosened_by(
        &edited(
            "  contains copper\n  strength low 600 ppm copper\n  strength high 1200 ppm copper\n",
            "  strength low 1 g/L\n  strength high 2 g/L\n",
        )
        .replace("  label season at most 12 kg / ha copper\n", ""),
        Loosens::Counted,
        "product copper",
    );
}

/// The head alone decides over which hours and days is counted, and how sure a reading is.
#[test]
fn what_the_head_loosens_is_an_error() {
    const HEAD: &str = "rulebook \"Test\"\n  season from 1 Oct to 30 Sep\n  window at least 2 h within 48 h\n  gaps at most 10 %\n\
        \x20 accuracy temperature 1 °F\n  caution \"x\"\nsource own \"made\"\n";
    let book = |head: &str| plan_of(&format!("{head}{BASIS}{RULES}"));
    let with = |from: &str, to: &str| {
        assert!(HEAD.contains(from), "{from}");
        tightens(&book(HEAD), &book(&HEAD.replacen(from, to, 1)), BUDGET)
    };
    for (from, to, how, item) in [
        ("at least 2 h", "at least 1 h", Loosens::Window, "rulebook window"),
        ("within 48 h", "within 72 h", Loosens::Window, "rulebook window"),
        ("at most 10 %", "at most 11 %", Loosens::Gaps, "rulebook gaps"),
        ("temperature 1 °F", "temperature 0.5 °F", Loosens::Accuracy, "rulebook accuracy"),
        ("temperature 1 °F", "temperature 2 °F, rain 0.1 mm", Loosens::Accuracy, "rulebook accuracy"),
        ("from 1 Oct to 30 Sep", "from 1 Nov to 31 Oct", Loosens::Season, "rulebook season"),
    ] {
        let found = with(from, to);
        let is_it = |it: &Loosened| matches!(it, Loosened::Item { item: of, how: by, now: Some(_) } if *by == how && of == item);
        assert!(found.loosened.iter().any(is_it), "{to}: {found:#?}");
    }
    for (from, to) in [
        ("at least 2 h", "at least 3 h"),
        ("within 48 h", "within 24 h"),
        ("at most 10 %", "at most 5 %"),
        ("temperature 1 °F", "temperature 2 °F"),
        ("  accuracy temperature 1 °F\n", ""),
        ("  accuracy temperature 1 °F\n", "  accuracy humidity 5 %\n"),
        ("  season", "  crop mango\n  season"),
    ] {
        let found = with(from, to);
        assert!(found.is_kept(), "{to}: {found:#?}");
    }
}

/// What the base promises is no verdict, and what a replaced promise promises less is said.
#[test]
fn a_promise_that_promises_less_is_said() {
    let promise = |when: &str, what: &str| {
        format!("{BASIS}{RULES}promise cool\n  whenever {when}\n  never {what}\n  cites own\n")
    };
    let base = promise("heat at least 30 °C", "sulfur");
    let weaker = |new: &str| {
        let found = both(&base, new);
        assert!(found.is_kept(), "{found:#?}");
        found.weaker_promises.iter().map(|it| it.0.clone()).collect::<Vec<String>>()
    };
    assert_eq!(weaker(&promise("heat at least 33 °C", "sulfur")), ["cool"]);
    assert_eq!(weaker(&promise("heat at least 30 °C", "copper with oil")), ["cool"]);
    assert_eq!(weaker(&promise("heat at least 28 °C", "sulfur")), [""; 0]);
    assert_eq!(weaker(&promise("not (heat below 30 °C)", "sulfur")), [""; 0]);
    // One that is left out is said at the text.
    assert_eq!(weaker(&format!("{BASIS}{RULES}")), [""; 0]);
}

/// In a certified grove only what is organic is sprayed, and a choice that is outranked elsewhere leads.
#[test]
fn certified_groves_are_proved_too() {
    loosened_by(
        &edited("contains copper\n", "contains copper\n  class organic\n"),
        Loosens::Organic,
        "product copper",
    );
    let base = edited("  advise sulfur at high\n  or else copper at low\n", "  advise mancozeb at low\n")
        + "product mancozeb\n  strength low 1 g/L\n  cites own\n";
    let also =
        "choice also\n  advise sulfur at low\n  if danger is great\n  outranks guard, rest\n  cites own\n";
    let overlay = format!(
        "{}{also}",
        base.replace("outranks guard, rest\n  recheck", "outranks also, guard, rest\n  recheck")
    );
    let found = both(&base, &overlay);
    let certified = |it: &Loosened| matches!(it, Loosened::Verdict { certified: true, .. });
    assert!(found.loosened.iter().any(certified), "{found:#?}");
}

/// The clock and the sun hang together: what cannot be proved of hours is said, and never passed.
#[test]
fn what_cannot_be_proved_is_said() {
    let sun = |hours: &str| edited("wind above 10 mph", hours);
    let found = both(&sun("daylight"), &sun("clock from 04:00 to 22:00"));
    assert!(
        matches!(&found.not_proved[..], [NotProved::Item { item, .. }] if item == "gate windy"),
        "{found:#?}"
    );
    // Noon is by day everywhere: that is certain, whatever else is shut then.
    let other =
        "gate dry\n  shuts spraying\n  in hours when delta-t above 10 °C or wind above 20 mph\n  cites own\n";
    let base = sun("clock from 06:00 to 17:00 or daylight") + other;
    let found = both(&base, &(sun("clock from 06:00 to 10:00") + other));
    let is_told = |it: &Loosened| matches!(it, Loosened::Item { how: Loosens::Hours, .. });
    assert!(found.loosened.iter().any(is_told), "{found:#?}");
    let found = tightens(&plan(&format!("{BASIS}{RULES}")), &plan(&edited("hot = 30 °C", "hot = 25 °C")), 50);
    assert!(found.not_proved.contains(&NotProved::Verdicts), "{found:#?}");
}

/// A choice of the overlay's own gives no more time for the spray that the base takes, however it is called.
#[test]
fn a_new_choice_gives_no_more_time() {
    let rules = edited("  recheck in 3 d\n", "  recheck in 3 d\n  within 24 h\n");
    let with = |own: &str| {
        let more = format!("choice own\n{own}  outranks fight, guard, rest\n  cites own\n");
        both(&rules, &format!("{rules}{more}"))
    };
    let ways = |found: &Tightening| -> Vec<Loosens> {
        let of = |it: &Loosened| match it {
            Loosened::Item { item, how, .. } if item == "choice own" => Some(*how),
            Loosened::Item { .. } | Loosened::Verdict { .. } => None,
        };
        found.loosened.iter().filter_map(of).collect()
    };
    let same =
        "  advise sulfur at high\n  or else copper at low\n  if danger is great and spots at least 4\n";
    let found = with(&format!("{same}  recheck in 10 d\n  within 24 h\n"));
    assert_eq!(ways(&found), [Loosens::Recheck], "{found:#?}");
    let found = with(&format!("{same}  recheck in 3 d\n  within 36 h\n"));
    assert_eq!(ways(&found), [Loosens::Within], "{found:#?}");
    // None at all is later than any, and weaker is no excuse.
    let found = with(&same.replace("sulfur at high", "sulfur at low"));
    assert_eq!(ways(&found), [Loosens::Recheck, Loosens::Within], "{found:#?}");
    // As soon, sooner, and a hold in place of a spray.
    for kept in [
        format!("{same}  recheck in 3 d\n  within 24 h\n"),
        format!("{same}  recheck in 1 d\n  within 12 h\n"),
        "  advise hold\n  if danger is great\n".to_owned(),
    ] {
        let found = with(&kept);
        assert!(found.is_kept(), "{kept}{found:#?}");
    }
}

/// Where the choice that gives the least time is narrowed, one that gives more leads to the same spray.
#[test]
fn a_choice_that_is_left_alone_gives_no_more_time() {
    let rules = |soon: &str| {
        let choice = |name: &str, when: &str, within: &str| {
            format!(
                "choice {name}\n  advise oil at low\n  if {when}\n  outranks rest\n  within {within}\n  recheck in 5 d\n  cites own\n"
            )
        };
        format!(
            "{BASIS}{}{}choice rest\n  advise hold\n  cites own\n",
            choice("soon", soon, "24 h"),
            choice("some-day", "spots at least 1", "72 h")
        )
    };
    let base = rules("spots at least 3");
    let found = both(&base, &rules("spots at least 6"));
    let [Loosened::Item { item, how, .. }] = &found.loosened[..] else { panic!("{found:#?}") };
    assert_eq!((&**item, *how), ("choice some-day", Loosens::Within));
    let found = both(&base, &rules("spots at least 2"));
    assert!(found.is_kept(), "{found:#?}");
}
