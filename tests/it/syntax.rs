//! Reading: every example reads, every trap is stepped over, and what cannot be read is said well.

use bloomward::source::Sources;
use bloomward::syntax;

#[test]
fn every_example_of_the_language_reads() {
    insta::glob!("../fixtures/syntax", "*.rulebook", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        let mut sources = Sources::default();
        let id = sources.add(path.file_name().unwrap().to_string_lossy(), text);
        let (tree, problems) = syntax::parse(&sources, id);
        assert_eq!(problems.plain(&sources), "");
        assert!(!tree.items.is_empty());
    });
}
