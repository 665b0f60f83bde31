//! Sixty rules over ten fields, as comparisons and as a rulebook, and trees to decide; the same at every run.

/// How many fields a tree has.
pub const FIELDS: usize = 10;

/// One comparison of a field.
pub struct Comparison {
    /// Which field.
    pub field: usize,
    /// Whether the value must be at least the threshold; else below it.
    pub at_least: bool,
    /// The threshold, a whole number.
    pub threshold: f64,
}

/// A rule: all of its comparisons.
pub type Rule = Vec<Comparison>;

/// A small generator of numbers, the same at every run (Marsaglia 2003, 64-bit xorshift).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, bound: u64) -> u64 {
        (self.next() >> 11) % bound
    }
}

/// Returns sixty rules of 3 to 6 comparisons, each on a field of its own.
pub fn rules() -> Vec<Rule> {
    let mut numbers = Numbers(0x9E37_79B9_7F4A_7C15);
    (0..60)
        .map(|_| {
            let count = 3 + numbers.below(4) as usize;
            let first = numbers.below(FIELDS as u64) as usize;
            (0..count)
                .map(|at| Comparison {
                    field: (first + at * 3) % FIELDS,
                    at_least: numbers.below(2) == 0,
                    threshold: (10 + numbers.below(80)) as f64,
                })
                .collect()
        })
        .collect()
}

/// Writes the rules as a rulebook: fifty gates and ten choices, of which the first outrank the later.
pub fn rulebook() -> String {
    let mut book = String::from(
        "rulebook \"Sixty rules\"\n  caution \"For measuring only.\"\n\nsource own \"made for measuring\"\n\n\
         product powder\n  group M02\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\n",
    );
    for field in 0..FIELDS {
        book += &format!("observe field-{field}\n  kind number\n\n");
    }
    for (at, rule) in rules().iter().enumerate() {
        let condition: Vec<String> = rule
            .iter()
            .map(|it| {
                let word = if it.at_least { "at least" } else { "below" };
                format!("field-{} {word} {}", it.field, it.threshold)
            })
            .collect();
        let condition = condition.join(" and ");
        if at < 50 {
            let effect = if at % 2 == 0 { "shuts powder" } else { "holds powder to low" };
            book += &format!("gate g{at}\n  {effect}\n  if {condition}\n  because \"x\"\n  cites own\n\n");
        } else {
            let lower: Vec<String> =
                (at + 1..61).map(|it| if it == 60 { "rest".into() } else { format!("c{it}") }).collect();
            let lower = lower.join(", ");
            book += &format!(
                "choice c{at}\n  advise powder at high\n  if {condition}\n  outranks {lower}\n  because \"x\"\n  cites own\n\n"
            );
        }
    }
    book += "choice rest\n  advise hold\n  because \"x\"\n  cites own\n";
    book
}

/// Returns the fields of many trees: each tree one of so many kinds; 0 means every tree for itself.
pub fn trees(count: usize, kinds: usize) -> [Vec<f64>; FIELDS] {
    let mut numbers = Numbers(0xD1B5_4A32_D192_ED03);
    let one = |numbers: &mut Numbers| -> [f64; FIELDS] {
        std::array::from_fn(|_| numbers.below(1000) as f64 / 10.0)
    };
    let known: Vec<[f64; FIELDS]> = (0..kinds).map(|_| one(&mut numbers)).collect();
    let mut columns: [Vec<f64>; FIELDS] = std::array::from_fn(|_| Vec::with_capacity(count));
    for _ in 0..count {
        let tree = if kinds == 0 { one(&mut numbers) } else { known[numbers.below(kinds as u64) as usize] };
        columns.iter_mut().zip(tree).for_each(|(column, value)| column.push(value));
    }
    columns
}

/// The verdicts of the sixty rules, as [`straight_line`] numbers them.
pub const VERDICTS: [&str; 3] = ["hold", "spray powder at low", "spray powder at high"];

/// Writes the rules as straight-line Rust: a function from the fields of a tree to the place of its verdict.
pub fn straight_line() -> String {
    let comparison = |it: &Comparison| {
        format!("f[{}] {} {:.1}", it.field, if it.at_least { ">=" } else { "<" }, it.threshold)
    };
    let any = |rules: &mut dyn Iterator<Item = &Rule>| {
        let all = rules.map(|rule| {
            let parts: Vec<String> = rule.iter().map(comparison).collect();
            format!("({})", parts.join(" && "))
        });
        all.collect::<Vec<_>>().join("\n        || ")
    };
    let rules = rules();
    let gates = |odd: usize| {
        let of = rules.iter().take(50).enumerate().filter(move |(at, _)| at % 2 == odd);
        any(&mut of.map(|(_, rule)| rule))
    };
    format!(
        "// Written by `straight_line` of sixty_rules.rs; a test holds it to that.\n\
         /// Returns the place of a tree's verdict among `VERDICTS`.\n#[rustfmt::skip]\n\
         pub fn verdict(f: &[f64; 10]) -> u8 {{\n    if {}\n    {{ return 0; }}\n    if !({})\n    {{ return 0; }}\n    \
         if {}\n    {{ 1 }} else {{ 2 }}\n}}\n",
        gates(0),
        any(&mut rules.iter().skip(50)),
        gates(1),
    )
}

/// Writes a grove of trees with these fields: its `grove.yaml` and its `trees.csv`.
pub fn grove(trees: &[Vec<f64>; FIELDS]) -> (String, String) {
    let yaml = "grove: Sixty rules\nrulebook: sixty.rulebook\nas-of: 2027-02-11T05:30\nsprays: none yet\n\
                place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }\n\
                trees: trees.csv\n";
    let fields: Vec<String> = (0..FIELDS).map(|field| format!("field-{field}")).collect();
    let mut csv = format!("tree,block,seen,{}\n", fields.join(","));
    for tree in 0..trees[0].len() {
        csv += &format!("T{tree},b,2027-02-11");
        trees.iter().for_each(|column| csv += &format!(",{}", column[tree]));
        csv.push('\n');
    }
    (yaml.to_owned(), csv)
}
