//! A rulebook of 100 000 lines from text to a checked plan; the figure to keep is two seconds.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::check;
use bloomward::source::Sources;
use divan::{Bencher, black_box};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// Writes measures, bands and gates until the text has so many lines.
fn rulebook(lines: usize) -> String {
    let mut book = String::from(
        "rulebook \"Large\"\n  caution \"For measuring only.\"\n\nsource own \"made for measuring\"\n\n",
    );
    for name in 0..12 {
        writeln!(book, "observe seen-{name}\n  kind share\n  lasts 4 d\n").expect("a string takes all");
    }
    book += "product powder\n  group M02\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\n";
    let mut item = 0;
    let mut count = book.lines().count();
    while count < lines {
        let (a, b, c) = (item % 12, (item + 5) % 12, (item + 7) % 12);
        let text = match item % 3 {
            0 => format!(
                "measure sum-{item} = (seen-{a} + seen-{b}) / 2\n  because \"two are seen together\"\n  cites own\n\n"
            ),
            1 => format!(
                "gate gate-{item}\n  shuts powder\n  if seen-{a} at least {} % and seen-{b} below {} %\n  unless sum-{} above {} %\n  because \"it burns\"\n  cites own\n\n",
                item % 90 + 5,
                item % 80 + 10,
                item - 1,
                item % 70 + 20
            ),
            _ => format!(
                "choice choice-{item}\n  advise powder at high\n  or else hold\n  if seen-{c} from {} % to {} % and not sum-{} below {} %\n  within 48 h\n  because \"it helps\"\n  cites own\n\n",
                item % 40 + 5,
                item % 40 + 50,
                item - 2,
                item % 60 + 20
            ),
        };
        count += text.lines().count() + 1;
        book += &text;
        item += 1;
    }
    book
}

#[divan::bench(args = [10_000, 100_000], sample_count = 5, sample_size = 1)]
fn text_to_plan(bencher: Bencher<'_, '_>, lines: usize) {
    let text = rulebook(lines);
    bencher.bench(|| {
        let mut sources = Sources::default();
        let id = sources.add("large.rulebook", text.as_str());
        let (plan, problems) = check::load(id, &mut sources, None, &mut |_| Err("no base".to_string()));
        assert!(!problems.any_error(), "{}", problems.plain(&sources));
        black_box(plan.expect("a sound rulebook"))
    });
}
