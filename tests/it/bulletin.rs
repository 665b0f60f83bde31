//! The printed guide: all of a rulebook stands on it, its amounts are right, and it is Spanish where that is asked for.

use crate::cli::{folder, ran, top};
use crate::spanish::assert_spanish;
use bloomward::plan::{Origin, Plan};
use bloomward::source::Sources;
use bloomward::workspace::{MemoryStore, open_rulebook};

const BOOKS: [&str; 4] = ["base/mango", "humid-lowland", "dry-hills", "southern-subtropics"];

fn plan(book: &str) -> Plan {
    let store = BOOKS.iter().fold(MemoryStore::default(), |store, book| {
        let name = format!("rulebooks/{book}.rulebook");
        let text = std::fs::read_to_string(top().join(&name)).unwrap();
        store.with(name, text)
    });
    let mut sources = Sources::default();
    open_rulebook(&store, &format!("rulebooks/{book}.rulebook"), None, &mut sources).unwrap().plan.unwrap()
}

fn page(book: &str, arguments: &[&str]) -> String {
    ran(&[&["bulletin", &format!("rulebooks/{book}.rulebook"), "--width", "200"], arguments].concat(), 0).0
}

/// A text with single blanks for its line ends and indents.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn all_of_a_rulebook_stands_on_its_bulletin() {
    for book in BOOKS {
        let plan = plan(book);
        let page = flat(&page(book, &[]));
        let mut wanted: Vec<String> = Vec::new();
        let head = &plan.head;
        wanted.extend(
            [&head.title].into_iter().chain(&head.region).chain(&head.contact).map(|it| it.to_string()),
        );
        wanted.extend(head.cautions.iter().map(|it| it.to_string()));
        wanted.extend(plan.choices.iter().map(|it| format!("{} When:", it.label)));
        wanted.extend(plan.choices.iter().filter_map(|it| Some(format!("How: {}", it.how.as_ref()?))));
        wanted.extend(plan.gates.iter().filter(|it| it.line.is_none()).map(|it| it.label.to_string()));
        wanted.extend(plan.prefers.iter().map(|it| format!("{} Better hours:", it.label)));
        wanted.extend(
            plan.products.iter().flat_map(|it| it.cautions.iter().map(|it| format!("CAUTION: {it}"))),
        );
        wanted.extend(
            plan.products.iter().filter_map(|it| Some(format!("Active ingredient: {}", it.active.as_ref()?))),
        );
        wanted.extend(plan.tasks.iter().map(|it| it.does.to_string()));
        wanted.extend(plan.warnings.iter().map(|it| it.says.to_string()));
        wanted.extend(plan.sources.iter().map(|it| it.citation.to_string()));
        wanted.extend(plan.promises.iter().map(|it| format!("`{}` Whenever:", it.name)));
        wanted.extend(plan.observations().filter_map(|(_, _, it)| it.ask.as_ref().map(|it| it.to_string())));
        let whys = plan
            .choices
            .iter()
            .map(|it| &it.why)
            .chain(plan.gates.iter().filter(|it| it.line.is_none()).map(|it| &it.why));
        wanted.extend(whys.filter_map(|why| Some(format!("Why: {}", why.because.as_ref()?))));
        for name in &plan.names {
            if let Origin::Band(band) = &name.origin {
                wanted.extend(
                    band.rows.iter().filter_map(|row| Some(format!("Why: {}", row.why.because.as_ref()?))),
                );
            }
        }
        assert!(wanted.len() > 150, "{book}");
        let missing: Vec<&String> = wanted.iter().filter(|it| !page.contains(&flat(it))).collect();
        assert!(missing.is_empty(), "{book}: {missing:#?}");
    }
}

/// Each product's own limits, read off the rulebook's text by eye.
#[test]
fn label_lines_and_strengths_stand_with_their_product() {
    let page = flat(&page("base/mango", &[]));
    let at = page.find("sulfur CAUTION:").unwrap();
    let sulfur = &page[at..at + page[at..].find("potassium bicarbonate Active").unwrap()];
    for line in [
        "Resistance group: M02",
        "Strengths: reduced rate 2 g/L (0.27 oz / gal); full rate 3 g/L (0.40 oz / gal)",
        "Label: at least 7 days between sprays",
        "Label: the sulfur label asks for 14 days between sulfur and horticultural oil",
        "Label: at least 1 day before harvest",
        "Keep out for 24 hours after the spray",
    ] {
        assert_eq!(sulfur.matches(line).count(), 1, "{line}");
    }
}

/// 2 g/L make 200 g in 100 L; 100 gal are 378.541 L (NIST Handbook 44, appendix C), so 757.08 g, which are 1.6691 lb; 10 mL/L
/// make 3785.41 mL in 100 gal, a gallon. Amounts are rounded down.
#[test]
fn amounts_for_the_tank_are_those_of_the_strength() {
    let page = page("base/mango", &[]);
    let row = |start: &str| {
        let line = page.lines().find(|line| line.trim_start().starts_with(start)).unwrap();
        line.trim()
            .split("  ")
            .map(str::trim)
            .filter(|cell| !cell.is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(row("Strength "), ["Strength", "1 L", "15 L", "100 L", "1 gal", "4 gal", "100 gal"]);
    assert_eq!(
        row("sulfur (reduced rate)"),
        ["sulfur (reduced rate)", "2.0 g", "30.0 g", "200 g", "0.26 oz", "1.0 oz", "1.66 lb"]
    );
    assert_eq!(row("horticultural oil (thin rate)")[1..4], ["10.0 mL", "150 mL", "1000 mL"]);
    assert_eq!(row("horticultural oil (thin rate)")[6], "1.00 gal");
    // 1200 ppm are 1.2 g of copper in a liter.
    assert_eq!(row("copper (full rate), copper itself")[1..4], ["1.2 g", "18.0 g", "120 g"]);
}

#[test]
fn the_bulletin_is_spanish_where_that_is_asked_for() {
    for book in ["humid-lowland", "dry-hills", "southern-subtropics"] {
        let page = page(book, &["--language", "es"]);
        let title = plan(book).head.title.to_string();
        // Sources are cited as they were published.
        let own: String = page.split("\n13. ").next().unwrap().to_owned();
        assert_spanish(&own, &title);
        assert!(page.contains("Qué no se debe hacer"), "{book}");
    }
}

#[test]
fn a_guide_that_breaks_its_promise_is_not_printed() {
    let place = folder("bulletin-broken");
    let text = std::fs::read_to_string(top().join("rulebooks/base/mango.rulebook")).unwrap();
    let broken = text.replace(
        "never    copper\n  because  \"no copper on a tree in full",
        "never    sulfur\n  because  \"no copper on a tree in full",
    );
    assert_ne!(broken, text);
    std::fs::create_dir_all(place.join("hours")).unwrap();
    let path = place.join("b.rulebook");
    std::fs::write(&path, broken).unwrap();
    let (out, err) = ran(&["bulletin", path.to_str().unwrap()], 1);
    assert_eq!(out, "");
    assert!(err.contains("promise-broken") && err.contains("pollen-is-safe"), "{err}");
}

#[test]
fn what_is_no_form_of_a_bulletin_is_refused_with_what_is() {
    let (_, err) = ran(&["bulletin", "rulebooks/base/mango.rulebook", "--format", "json"], 2);
    assert!(err.contains("a bulletin is text, HTML or PDF"), "{err}");
    let (_, err) = ran(&["bulletin", "rulebooks/none.rulebook"], 2);
    assert!(err.contains("rulebooks/none.rulebook"), "{err}");
}

#[test]
fn html_and_pdf_hold_the_same() {
    let html = page("dry-hills", &["--format", "html"]);
    assert!(html.contains("<h2>3. What to do</h2>") && html.contains("treat mildew"));
    let place = folder("bulletin-pdf").join("guide.pdf");
    ran(
        &["bulletin", "rulebooks/dry-hills.rulebook", "--format", "pdf", "--out", place.to_str().unwrap()],
        0,
    );
    assert!(std::fs::read(&place).unwrap().starts_with(b"%PDF-"));
}
