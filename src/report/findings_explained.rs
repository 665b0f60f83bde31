//! What each kind of finding means, with an example that has it and one that has not.
//!
//! Comes in: a kind of finding. Goes out: text. The examples are written as additions to one small sound guide, with
//! the names `stage`, `mildew`, `in-bloom`, `sulfur`, `sulfur-on-mildew` and `keep-watching`; an item that the guide
//! has already stands in its place. Tests run them.

use super::filling::filled;
use crate::problems::Finding;
use textwrap::core::display_width;

/// What a kind of finding means.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Explanation {
    /// What it means and why it matters.
    pub means: &'static str,
    /// Lines that have it.
    pub wrong: &'static str,
    /// What to do about it.
    pub mend: &'static str,
    /// The same lines without it.
    pub right: &'static str,
}

/// Returns the explanation of a finding as text of a given width.
pub fn text(finding: Finding, width: usize) -> String {
    let Explanation { means, wrong, mend, right } = explanation(finding);
    let level = finding.level().word();
    // The columns of an example are kept where they fit.
    let line = |line: &str| match format!("  {line}") {
        whole if display_width(&whole) <= width => vec![whole],
        _ => {
            let text = line.trim_start();
            let before = format!("  {}", &line[..line.len() - text.len()]);
            filled(text, &before, &format!("{before}    "), width)
        }
    };
    let lines = |words: &str| {
        let lines = words.lines().flat_map(line);
        lines.map(|line| line.trim_end().to_owned() + "\n").collect::<String>()
    };
    let flush = |words: &str| filled(words, "", "", width).join("\n") + "\n";
    let head = flush(&format!("{level}[{}]", finding.code()));
    head + "\n" + &flush(means) + "\n" + &lines(wrong) + "\n" + &flush(mend) + "\n" + &lines(right)
}

/// Returns what a kind of finding means.
pub fn explanation(finding: Finding) -> Explanation {
    let says = |means, wrong, mend, right| Explanation { means, wrong, mend, right };
    match finding {
        Finding::Syntax => says(
            "The text cannot be read at this place. Only this item is left out; all others are checked in the same \
             run. Often a word is missing, or `and` stands beside `or` without parentheses.",
            "gate muddle\n  shuts    sulfur\n  if       mildew above 5 % and in-bloom or mildew above 50 %\n  \
             because  \"which of the two binds tighter?\"\n  cites    common-practice",
            "Write what is expected there; between `and` and `or` write parentheses.",
            "gate muddle\n  shuts    sulfur\n  if       mildew above 5 % and (in-bloom or mildew above 50 %)\n  \
             because  \"now it is plain\"\n  cites    common-practice",
        ),
        Finding::UnknownName => says(
            "A name stands here that no item defines, or that is of another kind than its place asks for.",
            "gate flowers\n  holds    sulfur to reduced\n  if       in-blom\n  because  \"open flowers\"\n  \
             cites    common-practice",
            "Fix the spelling, or add the item that defines the name.",
            "gate flowers\n  holds    sulfur to reduced\n  if       in-bloom\n  because  \"open flowers\"\n  \
             cites    common-practice",
        ),
        Finding::DefinedTwice => says(
            "Two items bear the same name. Order decides nothing in a rulebook, so neither can win.",
            "figure enough = 5 %\n  because  \"one panicle in twenty\"\n  cites    common-practice\n\
             figure enough = 10 %\n  because  \"one panicle in ten\"\n  cites    common-practice",
            "Give one of them another name or delete it. In an overlay write `replace` before the item that is to \
             stand in place of the base's.",
            "figure enough = 5 %\n  because  \"one panicle in twenty\"\n  cites    common-practice\n\
             figure plenty = 10 %\n  because  \"one panicle in ten\"\n  cites    common-practice",
        ),
        Finding::UnitMismatch => says(
            "A quantity bears a unit that cannot be compared with its place, or no unit where one is due.",
            "measure rain-48h = total rain over last 48 h\ngate wet\n  shuts    sulfur\n  \
             if       rain-48h above 10 mph\n  because  \"rain washes it off\"\n  cites    common-practice",
            "Write a unit of the right kind.",
            "measure rain-48h = total rain over last 48 h\ngate wet\n  shuts    sulfur\n  \
             if       rain-48h above 10 mm\n  because  \"rain washes it off\"\n  cites    common-practice",
        ),
        Finding::KindMismatch => says(
            "A value or a name is of another kind than its place can take: a word where a number is due, a share \
             where a yes or no is due, an observation of panicles where a tree is judged.",
            "gate spotted\n  shuts    sulfur\n  if       mildew\n  because  \"mildew was seen\"\n  \
             cites    common-practice",
            "Compare the name with a value of its own kind.",
            "gate spotted\n  shuts    sulfur\n  if       mildew above 0 %\n  because  \"mildew was seen\"\n  \
             cites    common-practice",
        ),
        Finding::Circular => says(
            "Definitions that need each other: none of them can be computed first. Bases that build on each other \
             are reported so too.",
            "measure here = there + 1\nmeasure there = here - 1",
            "Let one of them be computed from something else.",
            "measure here = total rain over last 24 h\nmeasure there = here - 1 mm",
        ),
        Finding::OutOfRange => says(
            "A value that cannot be: outside the range of what it is compared with, or no such thing at all, like \
             the thirtieth of February.",
            "gate everywhere\n  shuts    sulfur\n  if       mildew at least 140 %\n  because  \"it is lost\"\n  \
             cites    common-practice",
            "Write a value inside the range, or widen the `range` of the observation.",
            "gate everywhere\n  shuts    sulfur\n  if       mildew at least 90 %\n  because  \"it is lost\"\n  \
             cites    common-practice",
        ),
        Finding::NoCaution => says(
            "A rulebook that people act upon must say at least that the label in force is the law. Every page with a \
             spray prints its cautions.",
            "rulebook \"A guide without a caution\"\n  crop      mango\n  edition   \"2027.1\"",
            "Add a `caution` to the head.",
            "rulebook \"A guide with a caution\"\n  crop      mango\n  edition   \"2027.1\"\n  \
             caution   \"The product label in force is the law.\"",
        ),
        Finding::Conflict => says(
            "There is a situation in which two choices hold, neither outranks the other, and they say different \
             things. A grower in it reads that the guide contradicts itself.",
            "choice flowers-in-peace\n  advise   hold\n  if       in-bloom\n  because  \"flies at work\"\n  \
             cites    common-practice",
            "Say which gives way with `outranks`, or let one of them not hold there.",
            "choice flowers-in-peace\n  advise   hold\n  if       in-bloom\n  outranks sulfur-on-mildew\n  \
             because  \"flies at work\"\n  cites    common-practice",
        ),
        Finding::PromiseBroken => says(
            "The rulebook guarantees something that does not hold in the situation shown.",
            "promise flowers-in-peace\n  whenever in-bloom\n  never    sulfur\n  \
             because  \"flies at work\"\n  cites    common-practice",
            "Add a gate that keeps the promise, or promise less.",
            "promise flowers-in-peace\n  whenever in-bloom\n  never    sulfur above reduced\n  \
             because  \"flies at work\"\n  cites    common-practice",
        ),
        Finding::WorkedFailed => says(
            "A worked example does not come out as it is written, or comes out differently for different values of \
             what it leaves open. The finding names the values that are missing.",
            "worked \"mildew: the strong mix\"\n  cites    common-practice\n  take     mildew 20 %\n  \
             expect   sulfur at full",
            "Take the missing values too, or fix the rule that the example shows to be wrong.",
            "worked \"mildew: the strong mix\"\n  cites    common-practice\n  take     mildew 20 %, stage closed\n  \
             expect   sulfur at full",
        ),
        Finding::LabelBroken => says(
            "A strength lies above what the product's own label line allows.",
            "product copper\n  active    \"copper hydroxide\"\n  group     M01\n  contains  copper\n  \
             strength  full  2 kg / ha copper\n  label     single at most 1 kg / ha copper\n  cites     common-practice",
            "Weaken the strength, or fix the label line if it was copied wrongly.",
            "product copper\n  active    \"copper hydroxide\"\n  group     M01\n  contains  copper\n  \
             strength  full  1 kg / ha copper\n  label     single at most 1 kg / ha copper\n  cites     common-practice",
        ),
        Finding::TableOverlap => says(
            "Two rows of a table match the same key and give different values. Order decides nothing in a rulebook, \
             so neither row can win.",
            "table rating\n  cites    common-practice\n  of       temperature\n  gives    number\n  \
             from 10 °C to 20 °C   1\n  from 15 °C to 25 °C   2",
            "Let one row end where the next begins; `below` leaves the end itself out.",
            "table rating\n  cites    common-practice\n  of       temperature\n  gives    number\n  \
             from 10 °C to below 15 °C   1\n  from 15 °C to 25 °C         2",
        ),
        Finding::RankCircle => says(
            "Choices outrank each other in a circle, so that each would have to give way to the other.",
            "choice wait-for-flies\n  advise   hold\n  if       in-bloom\n  outranks wait-for-sun\n  \
             because  \"flies at work\"\n  cites    common-practice\nchoice wait-for-sun\n  advise   hold\n  \
             if       in-bloom\n  outranks wait-for-flies\n  because  \"leaves are wet\"\n  cites    common-practice",
            "Take away one `outranks` of the circle.",
            "choice wait-for-flies\n  advise   hold\n  if       in-bloom\n  outranks wait-for-sun\n  \
             because  \"flies at work\"\n  cites    common-practice\nchoice wait-for-sun\n  advise   hold\n  \
             if       in-bloom\n  because  \"leaves are wet\"\n  cites    common-practice",
        ),
        Finding::LoosensBase => says(
            "An overlay promises with `tightens` that it only forbids, weakens or asks for more looking, and in the \
             situation shown, or by the item named, it does the opposite of its base.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  \
             caution   \"The product label in force is the law. This is an example, and its figures are invented.\"\n  \
             tightens\n\
             omit gate gentle-in-bloom because \"we like it strong\"",
            "Leave the base's gate in force, or leave out `tightens`.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  \
             caution   \"The product label in force is the law. This is an example, and its figures are invented.\"\n  \
             tightens",
        ),
        Finding::BaseChanged => says(
            "The base bears another edition than the one this overlay was written for. What the overlay replaces or \
             omits may have changed there.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\" edition \"2026.2\"\n  edition   \"2027.1\"\n  \
             caution   \"The product label in force is the law.\"",
            "Read what has changed in the base, fix the overlay where it matters, then name the new edition.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\" edition \"2027.1\"\n  edition   \"2027.1\"\n  \
             caution   \"The product label in force is the law.\"",
        ),
        Finding::CautionDropped => says(
            "Whoever builds on a rulebook prints its cautions, and this overlay leaves one of them out, or replaces a \
             product and does not say its caution again: growers read it on no page.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  \
             caution   \"Wear gloves and goggles.\"\n\
             omit caution \"The product label in force is the law. This is an example, and its figures are invented.\"\n  \
             because  \"we know\"",
            "Take the `omit` out, or add the caution to the product. Where the overlay says the same in words of its own, nothing need be done.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  \
             caution   \"Wear gloves and goggles.\"",
        ),
        Finding::PromiseDropped => says(
            "An overlay that `tightens` leaves a promise of its base out. No verdict changes by that, but what the base \
             promises is proved no longer.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  tightens\n\
             omit promise weak-mix-in-bloom because \"we see to it\"",
            "Take the `omit` out if the promise still holds: proofread then tells. Where a gate of yours breaks it, write \
             one of your own that holds.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  tightens",
        ),
        Finding::Gap => says(
            "In the situation shown no choice holds, so a grower in it reads that the guide does not cover this.",
            "choice keep-watching\n  advise   hold\n  if       mildew below 5 %\n  recheck  in 4 d\n  \
             because  \"little was seen\"\n  cites    common-practice",
            "Widen a choice or add one. Where nobody knows the answer, leave the gap: it is an honest one.",
            "choice keep-watching\n  advise   hold\n  if       mildew below 10 %\n  recheck  in 4 d\n  \
             because  \"little was seen\"\n  cites    common-practice",
        ),
        Finding::NeverHolds => says(
            "No situation reaches this item or row: its conditions exclude each other, or something else it needs.",
            "gate in-between\n  shuts    sulfur\n  if       mildew above 50 % and mildew below 20 %\n  \
             because  \"a slip of the pen\"\n  cites    common-practice",
            "Fix the condition, or delete the item.",
            "gate in-between\n  shuts    sulfur\n  if       mildew above 20 % and mildew below 50 %\n  \
             because  \"well thought out\"\n  cites    common-practice",
        ),
        Finding::NoEffect => says(
            "This gate, row or choice changes no verdict anywhere: something else decides in every situation that it \
             speaks of.",
            "gate little-mildew\n  shuts    sulfur\n  if       mildew below 5 %\n  \
             because  \"the choice asks for 10 % anyway\"\n  cites    common-practice",
            "Delete it, or fix the threshold that makes it idle.",
            "gate little-mildew\n  shuts    sulfur\n  if       mildew below 15 %\n  \
             because  \"between 10 % and 15 % this decides\"\n  cites    common-practice",
        ),
        Finding::RiskyAssumption => says(
            "Where nothing was seen, a value is assumed, and with this one a gate stands open that another value would \
             shut. A missing look must never open a gate.",
            "observe bees-about\n  kind   yes-no\n  ask    \"Are bees in the flowers?\"\n  lasts  1 d\n  \
             assume no\ngate bees\n  shuts    sulfur\n  if       bees-about\n  because  \"bees at work\"\n  \
             cites    common-practice",
            "Leave the assumption out, so that the value is unknown and the page asks for it.",
            "observe bees-about\n  kind   yes-no\n  ask    \"Are bees in the flowers?\"\n  lasts  1 d\n\
             gate bees\n  shuts    sulfur\n  if       bees-about\n  because  \"bees at work\"\n  \
             cites    common-practice",
        ),
        Finding::WeakChoice => says(
            "The choice is against a disease and advises a product whose effect on it is only `slight`.",
            "product copper\n  active    \"copper hydroxide\"\n  group     M01\n  against   powdery-mildew slight\n  \
             strength  full  2 g/L\n  cites     common-practice\nchoice copper-on-much\n  against  powdery-mildew\n  \
             advise   copper at full\n  if       mildew at least 80 %\n  outranks sulfur-on-mildew\n  \
             because  \"it is on the shelf\"\n  cites    common-practice",
            "Advise a product that is good or moderate on it, or say what the choice is really against.",
            "choice sulfur-on-much\n  against  powdery-mildew\n  advise   sulfur at full\n  \
             if       mildew at least 80 %\n  outranks sulfur-on-mildew\n  \
             because  \"it works on mildew\"\n  cites    common-practice",
        ),
        Finding::TodayLeftOut => says(
            "The gate looks at `next N days`, which begin tomorrow. A hot or wet today would pass it.",
            "measure heat-ahead = highest temperature over next 2 days\ngate heat\n  shuts    sulfur\n  \
             if       heat-ahead at least 90 °F\n  because  \"sulfur burns\"\n  cites    common-practice",
            "Write `today and next N days`.",
            "measure heat-ahead = highest temperature over today and next 2 days\ngate heat\n  shuts    sulfur\n  \
             if       heat-ahead at least 90 °F\n  because  \"sulfur burns\"\n  cites    common-practice",
        ),
        Finding::AlwaysHolds => says(
            "The condition holds whatever is found, so it asks nothing. Often a comparison was turned round.",
            "gate everywhere\n  shuts    sulfur\n  if       mildew at least 0 %\n  because  \"it is too much\"\n  \
             cites    common-practice",
            "Mend the condition; where the rule is meant to hold always, leave its `if` out.",
            "gate everywhere\n  shuts    sulfur\n  if       mildew at least 90 %\n  because  \"it is too much\"\n  \
             cites    common-practice",
        ),
        Finding::NeverAdvised => says(
            "No choice advises this product, so no page ever names it as a spray.",
            "product talc\n  strength full  3 g/L\n  label    interval at least 7 d\n  cites    common-practice",
            "Advise it in a choice, often as what is fallen back on, or leave it out.",
            "product talc\n  against  powdery-mildew good\n  strength full  3 g/L\n  label    interval at least 7 d\n  \
             cites    common-practice\n\
             choice dust-it\n  against  powdery-mildew\n  advise   talc at full\n  if       mildew at least 80 %\n  \
             outranks sulfur-on-mildew, keep-watching\n  because  \"it is much\"\n  cites    common-practice",
        ),
        Finding::LabelMissing => says(
            "A product has no line of its label: it is advised as often and as late as the rules ask for, and the pages \
             have no re-entry time to print.",
            "product talc\n  strength full  3 g/L\n  cites    common-practice",
            "Write what the label says: interval, season, days before harvest, re-entry.",
            "product talc\n  strength full  3 g/L\n  label    interval at least 7 d\n  label    re-entry 24 h\n  \
             cites    common-practice",
        ),
        Finding::NoLasts => says(
            "What is seen once counts for ever: no `lasts` says when it is too old and must be looked at again.",
            "observe ants \"ants on the trunk\"\n  kind     yes-no\n  cites    common-practice",
            "Say how long what was seen counts.",
            "observe ants \"ants on the trunk\"\n  kind     yes-no\n  lasts    14 d\n  cites    common-practice",
        ),
        Finding::Empty => says(
            "The file has a head and no rules: every tree would stand without a decision.",
            "rulebook \"A guide to come\"\n  caution   \"The product label in force is the law.\"",
            "Write what a person sees, a product and a choice, or build on a base.",
            "rulebook \"House rules\"\n  builds-on \"plain.rulebook\"\n  edition   \"2027.1\"\n  \
             in-force  from 2026-11-01 to 2027-10-31\n  caution   \"The product label in force is the law.\"",
        ),
        Finding::NoSuchWeather => says(
            "No air is as warm or as cold as this figure says. Often a number in °F was written with °C.",
            "figure hot = 90 °C\n  because  \"sulfur burns\"\n  cites    common-practice",
            "Write the unit that was meant.",
            "figure hot = 90 °F\n  because  \"sulfur burns\"\n  cites    common-practice",
        ),
        Finding::Unused => says(
            "Nothing uses this name. Often a rule was deleted, or a name misspelt in a rule that should use it.",
            "figure enough = 15 %\n  because  \"one panicle in seven\"\n  cites    common-practice",
            "Use it or delete it.",
            "figure enough = 15 %\n  because  \"one panicle in seven\"\n  cites    common-practice\n\
             gate little\n  shuts    sulfur\n  if       mildew below enough\n  because  \"too little\"\n  \
             cites    common-practice",
        ),
        Finding::Uncited => says(
            "Gates, choices, bands, tables, tallies, products, tasks, warnings and `prefer` owe the reader their \
             source.",
            "gate gentle-in-bloom\n  holds    sulfur to reduced\n  if       in-bloom\n  \
             because  \"open flowers take the weaker mix only\"",
            "Add `cites` with the key of a `source`; `common-practice` for a fact of the trade, `to-be-sourced` where \
             the source is still to be found.",
            "gate gentle-in-bloom\n  holds    sulfur to reduced\n  if       in-bloom\n  \
             because  \"open flowers take the weaker mix only\"\n  cites    common-practice",
        ),
        Finding::ToBeSourced => says(
            "The author knows no source for this yet. It works as written, and the list of these is the list of what \
             to look up.",
            "gate gentle-in-bloom\n  holds    sulfur to reduced\n  if       in-bloom\n  \
             because  \"open flowers take the weaker mix only\"\n  cites    to-be-sourced",
            "Find the source, add it as a `source`, and cite that.",
            "source my-manual \"A manual on my shelf, 2024\"\ngate gentle-in-bloom\n  holds    sulfur to reduced\n  \
             if       in-bloom\n  because  \"open flowers take the weaker mix only\"\n  \
             cites    my-manual \"page 12\"",
        ),
        Finding::NotTranslated => says(
            "A translation stands beside the rulebook, `NAME.es.yaml` beside `NAME.rulebook`, and leaves out some of its \
             texts: a page in that language prints them as the author wrote them.",
            "# mango.es.yaml, beside a rulebook with the label \"open flowers\" and the word `full-bloom`\n\
             \"open flowers\": flores abiertas",
            "Write the text and its translation there, of a word the word as it is written.",
            "\"open flowers\": flores abiertas\nfull-bloom: plena floración",
        ),
        Finding::Untested => says(
            "No worked example reaches this item, so nobody has written down what it should do.",
            "gate much-mildew\n  shuts    sulfur\n  if       mildew above 80 %\n  because  \"it is lost\"\n  \
             cites    common-practice",
            "Add a `worked` example in which it matters.",
            "gate much-mildew\n  shuts    sulfur\n  if       mildew above 80 %\n  because  \"it is lost\"\n  \
             cites    common-practice\nworked \"lost to mildew: nothing helps\"\n  cites    common-practice\n  \
             take     mildew 90 %\n  expect   hold",
        ),
        Finding::NotDecided => says(
            "The situations of this rulebook are too many to be proved. Nothing is said of conflicts, gaps, promises and \
             worked examples: not that they are sound, and not that they are broken. Said also of a worked example \
             whose hours are not read.",
            "A rulebook in which thousands of conditions compare the same dozen names with numbers of their own.",
            "Grade in bands what is now compared again and again, so that conditions speak of a few levels.",
            "A rulebook whose conditions speak of the levels of a few bands.",
        ),
        Finding::Input => says(
            "A file of the grove cannot be read as it stands: a value without its unit, a tree given twice, a block \
             that does not exist, a column with a name that nobody knows, half a line at the end of the spray log.",
            "harvest: 20 June",
            "Write at that line what the finding says. Dates are written year, month, day.",
            "harvest: 2027-06-20",
        ),
        Finding::InputNote => says(
            "Something in the grove's files was reported and left out, and everything else was used: a reading that \
             cannot be, like 140 % of humidity, or an observation that this rulebook does not ask for.",
            "time,humidity [%]\n2027-02-09T04:00,140",
            "Nothing need be done. A sensor that says such things often wants mending.",
            "time,humidity [%]\n2027-02-09T04:00,100",
        ),
    }
}
