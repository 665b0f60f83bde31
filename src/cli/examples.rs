//! The example groves and the rulebooks that come with the program, compiled in.

/// An example grove.
pub struct Example {
    /// The name of its folder.
    pub name: &'static str,
    /// What it shows.
    pub about: &'static str,
    /// Its files: the path inside the folder, and the text.
    pub files: &'static [(&'static str, &'static str)],
}

macro_rules! texts {
    ($folder:literal: $($path:literal)*) => {
        &[$(($path, include_str!(concat!("../../", $folder, "/", $path))),)*]
    };
}

/// All rulebooks, their translations, and the hours of their worked examples, by their paths inside the folder of rulebooks.
pub const RULEBOOKS: &[(&str, &str)] = texts!("rulebooks":
    "base/mango.rulebook"
    "base/mango.es.yaml"
    "base/hours/edges.csv"
    "dry-hills.rulebook"
    "dry-hills.es.yaml"
    "humid-lowland.rulebook"
    "humid-lowland.es.yaml"
    "southern-subtropics.rulebook"
    "southern-subtropics.es.yaml"
    "hours/dry-hills.csv"
    "hours/humid-lowland.csv"
);

/// All example groves.
pub const EXAMPLES: &[Example] = &[
    Example {
        name: "mixed-grove",
        about: "120 trees in three blocks of a humid lowland, every common case of bloom on one morning",
        files: texts!("examples/mixed-grove": "grove.yaml" "scouting.csv" "sprays.csv" "weather.csv"),
    },
    Example {
        name: "garden",
        about: "twelve trees in dry hills, one backpack, organic, all that was seen written beside the trees",
        files: texts!("examples/garden": "grove.yaml" "sprays.csv" "weather.csv"),
    },
    Example {
        name: "southern",
        about: "a grove of the southern hemisphere, metric, its trees in a table",
        files: texts!("examples/southern": "grove.yaml" "sprays.csv" "trees.csv" "weather.csv"),
    },
    Example {
        name: "whole-season",
        about: "twelve trees and a whole season of weather without a diary, to be looked back at with an assumed bloom",
        files: texts!("examples/whole-season": "bloom.yaml" "grove.yaml" "weather.csv"),
    },
    Example {
        name: "broken",
        about: "mistakes that growers and authors make, to see how they are said",
        files: texts!("examples/broken":
            "README.md" "contradicts.rulebook" "grove.yaml" "mistakes.rulebook" "plain.rulebook" "scouting.csv"
            "sprays.csv" "two-minds/grove.yaml" "weather.csv"
        ),
    },
];

/// Returns a rulebook, or what stands beside it, by its path inside the folder of rulebooks.
pub fn rulebook(path: &str) -> Option<&'static str> {
    RULEBOOKS.iter().find(|(known, _)| *known == path).map(|(_, text)| *text)
}
