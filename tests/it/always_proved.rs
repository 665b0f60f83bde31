//! What a rulebook says is always so, in proofs: it takes out the situations that a grove is refused in, and no others; and between
//! two rulebooks those alone that both refuse.

use crate::proofs::plan;
use bloomward::problems::Finding;
use bloomward::prove::compare::items::ItemChange;
use bloomward::prove::compare::{Comparison, Regions, compare};
use bloomward::prove::tightens::{Loosened, Loosens, tightens};
use bloomward::prove::{self, BUDGET};

const PRODUCTS: &str = "product copper\n  strength low 1 g/L\n  cites own\n";
const REST: &str = "choice rest\n  advise hold\n  cites own\n";

/// A value that does not exist breaks nothing when a grove is read, so a proof looks there, too.
#[test]
fn what_does_not_exist_is_a_situation() {
    let book = |always: &str| {
        plan(&format!(
            "{PRODUCTS}measure warmth = mean temperature in longest spell with temperature above 30 °C over last 24 h\n\
             measure mildness = mean temperature while rain above 0 mm over last 24 h\n\
             {always}\
             choice treat\n  advise copper at low\n  if not (warmth at least 20 °C)\n  outranks rest\n  cites own\n{REST}\
             promise no-copper\n  whenever mildness below 90 °C or mildness at least 90 °C\n  never copper\n  cites own\n"
        ))
    };
    for statement in ["warmth at least 20 °C", "not (warmth below 20 °C)", "mildness at most warmth"] {
        let always =
            format!("always a-spell-is-warm\n  {statement}\n  because \"a spell is warm\"\n  cites own\n");
        let found = prove::findings(&book(&always));
        let broken = found.iter().filter(|it| it.finding == Finding::PromiseBroken).count();
        assert_eq!(broken, 1, "{statement}: {found:?}");
    }
}

const FACTS: &str = "observe spots\n  kind count\n  range from 0 to 9\nobserve heat\n  kind temperature\n  range from 0 °C to 50 °C\n";

fn with(always: &str, gate: &str) -> String {
    let always = if always.is_empty() {
        String::new()
    } else {
        format!("always few\n  {always}\n  because \"so it is\"\n  cites own\n")
    };
    let gate = if gate.is_empty() {
        String::new()
    } else {
        format!("gate own\n  shuts copper\n  if {gate}\n  cites own\n")
    };
    format!(
        "{FACTS}{PRODUCTS}{always}{gate}choice treat\n  advise copper at low\n  if heat above 20 °C\n  outranks rest\n  cites own\n{REST}"
    )
}

fn compared(old: &str, new: &str) -> Comparison {
    let comparison = compare(&plan(old), &plan(new), BUDGET, Regions::All);
    assert_eq!((comparison.unconfirmed, comparison.spent), (0, false));
    comparison
}

/// Where one of two rulebooks refuses nothing its rules decide, and a rule that speaks there alone is a change.
#[test]
fn what_one_rulebook_takes_is_compared() {
    let (few, more) = ("spots at most 5", "spots above 5");
    for (old, new) in
        [(with(few, ""), with("", more)), (with("", ""), with(few, more)), (with(few, more), with("", ""))]
    {
        let comparison = compared(&old, &new);
        let [one] = &comparison.turns[..] else { panic!("{:#?}", comparison.turns) };
        assert!(one.was.contains("copper") != one.now.contains("copper"), "{one:?}");
        let place = serde_json::to_string(&comparison.regions[0].situation.values["spots"]).unwrap();
        assert!(comparison.regions[0].situation.values["spots"]["value"].as_f64() > Some(5.0), "{place}");
    }
    // What both refuse is no situation.
    assert!(compared(&with(few, ""), &with(few, more)).same_verdicts);
}

/// What is always so is an item: what was refused is taken, or the other way round.
#[test]
fn a_change_of_what_is_always_so_is_told() {
    let item = |old: &str, new: &str| {
        let comparison = compared(&with(old, ""), &with(new, ""));
        let of = |it: &&ItemChange| it.item == "always few";
        let item = comparison.items.iter().find(of).expect("it differs");
        (item.change.word(), item.direction.map_or("", |it| it.words()), item.is_weakened(), comparison.same)
    };
    assert_eq!(item("spots at most 5", ""), ("omitted", "looser", true, false));
    assert_eq!(item("", "spots at most 5"), ("added", "stricter", false, false));
    assert_eq!(item("spots at most 5", "spots at most 6"), ("changed", "looser", true, false));
    assert_eq!(item("spots at most 5", "spots at most 4"), ("changed", "stricter", false, false));
    assert_eq!(item("spots at most 5", "heat below 30 °C"), ("changed", "", true, false));
    assert_eq!(item("spots at most 5", "spots below 6"), ("written otherwise", "other words", false, true));
}

/// An overlay that refuses more only tightens; one that takes what its base refuses loosens.
#[test]
fn what_the_base_refuses_stays_refused() {
    let came = |old: &str, new: &str| tightens(&plan(&with(old, "")), &plan(&with(new, "")), BUDGET);
    for (old, new) in [
        ("", "spots at most 5"),
        ("spots at most 5", "spots at most 4"),
        ("spots at most 5", "spots at most 5 and heat below 40 °C"),
    ] {
        let found = came(old, new);
        assert!(found.is_kept(), "{old} {new}: {found:#?}");
    }
    for (old, new) in [
        ("spots at most 5", ""),
        ("spots at most 5", "spots at most 6"),
        ("spots at most 5", "heat below 40 °C"),
    ] {
        let found = came(old, new);
        let is_told = |it: &Loosened| matches!(it, Loosened::Item { item, how: Loosens::Always, .. } if item == "always few");
        assert!(found.loosened.iter().any(is_told), "{old} {new}: {found:#?}");
    }
    // What follows from what is left may be left out.
    let base = with("spots at most 5", "")
        .replace("always few", "always fewer\n  spots at most 3\n  cites own\nalways few");
    let overlay = base.replace("always few\n  spots at most 5\n  because \"so it is\"\n  cites own\n", "");
    assert_ne!(base, overlay);
    let found = tightens(&plan(&base), &plan(&overlay), BUDGET);
    assert!(found.is_kept(), "{found:#?}");
    // A verdict in a situation that only one of them takes is held against the other's rules.
    let found = tightens(&plan(&with("spots at most 5", "spots above 5")), &plan(&with("", "")), BUDGET);
    assert!(found.loosened.iter().any(|it| matches!(it, Loosened::Verdict { .. })), "{found:#?}");
}
