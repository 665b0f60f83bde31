//! `start`: a grove from a few answers, typed, from a file or given as flags; stopped and gone on with.

use crate::cli::{folder, ran, run, top};
use serde_json::Value;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs `start` with lines typed.
pub fn typed(folder: &Path, lines: &str) -> Output {
    typed_in("en", folder, lines)
}

fn typed_in(language: &str, folder: &Path, lines: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.args(["start", "--language", language]).arg(folder).current_dir(top());
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn text(output: &Output) -> (String, String) {
    let words =
        |bytes: &[u8]| String::from_utf8_lossy(bytes).split_whitespace().collect::<Vec<_>>().join(" ");
    (words(&output.stdout), words(&output.stderr))
}

macro_rules! grove_answers {
    () => {
        "La Ceiba\nhumid-lowland\nus\n18.20, -66.30, 90 m\nAmerica/Puerto_Rico\n24 ft x 20 ft\nA 15 Kent\nB 7 Haden, \
         5 Tommy Atkins in slope\n\nhandgun, tank 25 gal, 1.5 gal per tree, pace 25 gal/h\n2027-06-20\nno\nno\n\n"
    };
}
macro_rules! shed_answers {
    () => {
        "basic copper powder\ndemo-0001\npowder\n50 %\n48 h\n1 d\n7 d\n6 sprays\n\nat most 2.5 g/L\n\
         wettable sulfur\ndemo-0002\npowder\n80 %\n24 h\n1 d\n\n\n\n\n\
         \n\n\n\n\n"
    };
}

/// Answers to all questions but those of the shed.
const GROVE: &str = grove_answers!();
/// Answers of the shed: a jug of copper, one of sulfur, and none of the other products.
const SHED: &str = shed_answers!();
/// Answers to all questions.
pub const ANSWERS: &str = concat!(grove_answers!(), shed_answers!());

#[test]
fn a_grove_comes_of_a_few_typed_answers_and_can_be_advised() {
    let grove = folder("start_typed").join("grove");
    let output = typed(&grove, &format!("{GROVE}{SHED}"));
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{error}");
    for words in [
        "27 trees in 2 rows",
        "A01–A15 main, 15 trees: 15 Kent",
        "B01–B12 slope, 12 trees: 7 Haden, 5 Tommy Atkins",
        "Next: ",
    ] {
        assert!(out.contains(words), "{words}: {out}");
    }
    let path = grove.to_str().unwrap();
    let (advice, _) = ran(&["advise", path, "--format", "json"], 0);
    let advice: Value = serde_json::from_str(&advice).unwrap();
    assert_eq!(advice["trees"].as_array().unwrap().len(), 27);
    assert_eq!(advice["trees"][15]["tree"], "B01");
    assert_eq!(advice["trees"][15]["block"], "slope");
    let (mix, _) = ran(&["mix", path, "copper", "600 ppm copper", "25 gal", "--format", "json"], 0);
    assert!(mix.contains("\"shown\":[\"113 g\",\"4.0 oz\"]") && mix.contains("basic copper powder"), "{mix}");
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    for line in ["interval: 7 d", "season: 6 sprays", "strength: at most 2.5 g/L"] {
        assert!(yaml.contains(&format!("\n    {line}\n")), "{line}: {yaml}");
    }
    ran(&["ask", path], 0);
    ran(&["ask", path, "--sheet"], 0);
    ran(&["sprayday", path, "--look"], 0);
}

/// What the guide measures by volume is a liquid: nobody looks for a powder of it on the shelf.
#[test]
fn the_example_of_a_jug_has_the_form_of_its_product() {
    // All up to the oil, of which there is a jug.
    let answers = format!("{GROVE}{}", SHED.trim_end()) + "\n\n\n\n\n\nspray oil\ndemo-0005\n";
    let asked = |language: &str| {
        let grove = folder(&format!("start_forms_{language}")).join("grove");
        text(&typed_in(language, &grove, &answers)).1
    };
    let english = asked("en");
    for words in
        ["Example: copper powder", "Example: horticultural oil", "powder or a liquid? Example: liquid"]
    {
        assert!(english.contains(words), "{words}: {english}");
    }
    assert!(!english.contains("oil powder"), "{english}");
    let spanish = asked("es");
    for words in ["Por ejemplo: cobre en polvo.", "Por ejemplo: aceite"] {
        assert!(spanish.contains(words), "{words}: {spanish}");
    }
}

#[test]
fn it_can_be_stopped_at_any_answer_and_gone_on_with() {
    let all = format!("{GROVE}{SHED}");
    let lines: Vec<&str> = all.lines().collect();
    let made = |name: &str| fs::read_to_string(folder(name).join("grove/grove.yaml"));
    assert!(made("start_whole").is_err());
    let whole = Path::new(env!("CARGO_TARGET_TMPDIR")).join("start_whole/grove");
    assert_eq!(typed(&whole, &all).status.code(), Some(0));
    let whole = fs::read_to_string(whole.join("grove.yaml")).unwrap();
    for stop in [1, 3, 7, 8, 12, 14, 17, lines.len() - 1] {
        let grove = folder("start_stopped").join("grove");
        let joined = |lines: &[&str]| lines.iter().map(|line| format!("{line}\n")).collect::<String>();
        let first = typed(&grove, &joined(&lines[..stop]));
        assert_eq!(first.status.code(), Some(1), "{stop}");
        assert!(text(&first).0.contains("Not finished"), "{stop}");
        assert!(!grove.join("grove.yaml").exists());
        assert_eq!(typed(&grove, &joined(&lines[stop..])).status.code(), Some(0), "{stop}");
        assert_eq!(fs::read_to_string(grove.join("grove.yaml")).unwrap(), whole, "{stop}");
    }
}

#[test]
fn an_answer_that_broke_off_in_the_file_is_asked_again() {
    let grove = folder("start_torn").join("grove");
    typed(&grove, "La Ceiba\nhumid-lowland\n");
    let kept = grove.join("start.txt");
    fs::write(&kept, fs::read_to_string(&kept).unwrap() + "units: metr").unwrap();
    let rest: Vec<&str> = GROVE.lines().skip(2).collect();
    let output = typed(&grove, &(rest.join("\n") + "\n" + SHED));
    assert_eq!(output.status.code(), Some(0), "{:?}", text(&output));
    assert!(fs::read_to_string(grove.join("grove.yaml")).unwrap().contains("units: us"));
}

#[test]
fn an_answer_that_will_not_do_is_said_and_asked_again() {
    let grove = folder("start_wrong").join("grove");
    let wrong = GROVE
        .replace("humid-lowland\n", "humid-lowlnd\nhumid-lowland\n")
        .replace("18.20, ", "98.20, 4\n18.20, ")
        .replace("America/Puerto_Rico", "America/Puerto_Rca\nAmerica/Puerto_Rico")
        .replace("handgun, tank", "handgun, pace fast\nhandgun, fill 2 gal\nhandgun, tank")
        .replace("A 15 Kent", "A fifteen Kent\nA 15 Kent\nA 3 Haden");
    let shed = SHED.replace("50 %\n48 h", "500 %\n50 %\n48 g\n48 h");
    let output = typed(&grove, &format!("{wrong}{shed}"));
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{error}");
    for words in [
        "did you mean `humid-lowland`?",
        "`98.20` is not a latitude",
        "did you mean `America/Puerto_Rico`?",
        "`fifteen` is no number of trees",
        "the row `A` is given twice",
        "a jug cannot hold `500 %`",
        "`48 g` is not a duration",
        "`fast` does not begin with a number",
        "`2 gal` is not a duration",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
    assert!(out.contains("27 trees in 2 rows"), "{out}");
}

const FILE: &str = "# An invented grove.\ngrove: Hillside\nguide: dry-hills\nunits: metric\nplace: 20.8, -156.4\n\
                    timezone: Pacific/Honolulu\nspacing: 7 m x 6 m\nrow: 1 4 Haden\nrow: 2 3 Kent\n\
                    sprayer: air-blast, tank 600 L, 1200 L/ha\nsulfur: wettable sulfur\nsulfur form: powder\n\
                    sulfur contains: 80 %\n";

#[test]
fn a_file_answers_and_what_it_leaves_out_is_left_out() {
    let folder = folder("start_from");
    let file = folder.join("answers.txt");
    fs::write(&file, FILE).unwrap();
    let grove = folder.join("grove");
    let (out, _) = ran(&["start", grove.to_str().unwrap(), "--from", file.to_str().unwrap()], 0);
    assert!(out.contains("7 trees in 2 rows") && out.contains("1-01–1-04"), "{out}");
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    for words in ["volume: 1200 L/ha", "# sprays: sprays.csv", "at: [18.0, 0.0]", "at: [0.0, -7.0]"] {
        assert!(yaml.contains(words), "{words}: {yaml}");
    }
    ran(&["advise", "--long", grove.to_str().unwrap()], 0);
    // Run again, it tells what is there and changes nothing.
    let (again, _) = ran(&["start", grove.to_str().unwrap()], 0);
    assert!(again.contains("nothing is overwritten") && again.contains("7 trees in 2 rows"), "{again}");
    assert_eq!(fs::read_to_string(grove.join("grove.yaml")).unwrap(), yaml);
}

#[test]
fn flags_answer_too_and_all_that_is_wrong_in_a_file_is_told_at_once() {
    let folder = folder("start_flags");
    let file = folder.join("answers.txt");
    let bad = FILE
        .replace("units: metric", "unit: metric")
        .replace("row: 2 3 Kent", "row: 2 three Kent")
        .replace("sulfur contains: 80 %", "sulfur contains: 80\nsulphur: a jug\nno colon");
    fs::write(&file, bad).unwrap();
    let grove = folder.join("grove");
    let (out, error) = ran(&["start", grove.to_str().unwrap(), "--from", file.to_str().unwrap()], 2);
    assert_eq!(out, "");
    for words in [
        "answers.txt:4: ",
        "did you mean `units`?",
        "answers.txt:9: ",
        "answers.txt:13: ",
        "did you mean `sulfur`?",
        "5 answers will not do",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
    assert!(!grove.exists());
    let answers = FILE.lines().filter(|line| !line.starts_with('#')).flat_map(|line| ["--answer", line]);
    let arguments: Vec<&str> = ["start", grove.to_str().unwrap()].into_iter().chain(answers).collect();
    let (out, _) = ran(&arguments, 0);
    assert!(out.contains("7 trees in 2 rows"), "{out}");
}

#[test]
fn nothing_that_is_there_is_overwritten() {
    let folder = folder("start_there");
    let grove = folder.join("grove");
    fs::create_dir_all(&grove).unwrap();
    fs::write(grove.join("scouting.csv"), "mine").unwrap();
    let output = typed(&grove, &format!("{GROVE}{SHED}"));
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output).1.contains("nothing is overwritten"), "{:?}", text(&output));
    assert_eq!(fs::read_to_string(grove.join("scouting.csv")).unwrap(), "mine");
    assert!(!grove.join("grove.yaml").exists());
}

/// Names that YAML could take for something else stay what was typed.
#[test]
fn odd_names_stay_as_they_are() {
    let grove = folder("start_odd").join("grove");
    let odd = GROVE
        .replace("La Ceiba", "No: \"we\" # are {here}")
        .replace("A 15 Kent", "A 2 yes, 1 No: 4, 1 - x, 1 \u{e9}t\u{e9} 'q'")
        .replace("in slope", "in 007");
    let output = typed(&grove, &format!("{odd}{SHED}"));
    assert_eq!(output.status.code(), Some(0), "{:?}", text(&output));
    let out = text(&output).0;
    for words in [
        "No: \"we\" # are {here}: 17 trees",
        "2 yes",
        "1 No: 4",
        "1 - x",
        "1 \u{e9}t\u{e9} 'q'",
        "007, 12 trees",
    ] {
        assert!(out.contains(words), "{words}: {out}");
    }
}

/// The answers of a grove up to the question for the weather.
fn before_weather() -> String {
    GROVE.strip_suffix("\n\n").unwrap().to_string() + "\n"
}

const HOURS: &str = "time,temperature [°F],humidity [%]\n2027-02-08T00:00,70,80\n2027-02-08T01:00,71,80\n";

#[test]
fn where_the_weather_comes_from_is_asked_and_looked_at() {
    let folder = folder("start_weather");
    let grove = folder.join("grove");
    fs::write(folder.join("station.csv"), HOURS).unwrap();
    fs::write(folder.join("odd.csv"), "when,warmth\n2027-02-08T00:00,70\n").unwrap();
    let file = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let answers =
        format!("{}{}\n{}\n{}\n", before_weather(), file("none.csv"), file("odd.csv"), file("station.csv"));
    // Stopped at the question for the forecast, and gone on with.
    let output = typed(&grove, &answers);
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(1), "{error}");
    assert!(out.contains("`forecast` is next"), "{out}");
    assert!(error.contains("there is no file") && error.contains("has no column `time`"), "{error}");
    // Hours ahead of now need the moment of their forecast: an empty answer will not do where there are some. The example's
    // hours lie in February 2027; whether that is ahead hangs on the clock of the machine.
    let output = typed(&grove, &format!("2027-02-08T00:30\n2 mi\n2 mi, 90 m\n{SHED}"));
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{error}");
    assert!(error.contains("does not say how far and how high"), "{error}");
    assert!(!out.contains("Weather is still missing"), "{out}");
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    let line = "forecast-issued: \"2027-02-08T00:30\", station: { distance: 2 mi, height: 90 m } }";
    assert!(yaml.lines().any(|it| it.starts_with("weather: { file: ") && it.ends_with(line)), "{yaml}");
    assert!(!grove.join("weather.csv").exists());
    let path = grove.to_str().unwrap();
    let (advice, _) = ran(&["advise", path, "--as-of", "2027-02-08T02:00", "--format", "json"], 0);
    let advice: Value = serde_json::from_str(&advice).unwrap();
    assert_eq!(advice["forecast_issued"], "2027-02-08T00:30:00-04:00");
}

/// Hours that lie far ahead are a forecast, and when it was issued must be said.
#[test]
fn a_file_that_reaches_past_now_is_not_taken_without_its_forecast() {
    let folder = folder("start_forecast");
    let grove = folder.join("grove");
    let far = folder.join("far.csv").to_str().unwrap().to_string();
    fs::write(&far, HOURS.replace("2027-", "2190-")).unwrap();
    let output = typed(&grove, &format!("{}{far}\n\n2190-02-08T00:30\n\n{SHED}", before_weather()));
    let (_, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{error}");
    assert!(
        error.contains("lie after the moment") && error.contains("write when the forecast was issued"),
        "{error}"
    );
    // The same in a file of answers, or as a flag, ends the command and makes nothing.
    let grove = folder.join("other");
    let answers = FILE.to_string() + &format!("weather: {}\n", folder.join("gone.csv").display());
    fs::write(folder.join("answers.txt"), answers).unwrap();
    let from = folder.join("answers.txt").to_str().unwrap().to_string();
    let (_, error) = ran(&["start", grove.to_str().unwrap(), "--from", &from], 2);
    assert!(error.contains("gone.csv"), "{error}");
    assert!(!grove.join("grove.yaml").exists());
}

#[test]
fn without_weather_a_table_to_fill_lies_there_and_what_to_do_is_said() {
    let grove = folder("start_no_weather").join("grove");
    let output = typed(&grove, &format!("{GROVE}{SHED}"));
    let out = text(&output).0;
    assert!(out.contains("Weather is still missing") && out.contains("weather.csv"), "{out}");
    let table = fs::read_to_string(grove.join("weather.csv")).unwrap();
    assert_eq!(table, "time,temperature [°F],humidity [%],rain [in],wind [mph],gust [mph]\n");
    // What the page says is done: hours go in, the sign goes away.
    fs::write(grove.join("weather.csv"), table + "2027-02-08T00:00,70,80,0,3,5\n").unwrap();
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    fs::write(grove.join("grove.yaml"), yaml.replace("# weather:", "weather:")).unwrap();
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-08T02:00"], 0);
}

#[test]
fn the_questions_are_asked_in_spanish_and_its_words_are_taken() {
    let grove = folder("start_spanish").join("grove");
    let answers = GROVE.replace("2027-06-20\nno\nno\n\n", "2027-06-20\nno\nsí\n\n")
        + &SHED.replacen("powder", "polvo", 1);
    let output = typed_in("es", &grove, &answers);
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{error}");
    for words in [
        "¿Cómo se llama la finca?",
        "intervalo de entrada restringida",
        "días antes de la cosecha",
        "¿Tiene cobre en el almacén?",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
    assert!(out.contains("27 árboles en 2 hileras, en el orden del recorrido"), "{out}");
    for english in ["What", "Such as", "Next", "trees in", "Made"] {
        assert!(!out.contains(english) && !error.contains(english), "{english}\n{out}\n{error}");
    }
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    assert!(yaml.contains("form: powder") && yaml.contains("# sprays: sprays.csv"), "{yaml}");
}

/// Killed at any instant, `start` leaves no grove or a whole one, and can be gone on with.
#[test]
fn a_setup_that_is_killed_leaves_no_grove_or_a_whole_one() {
    let folder = folder("start_killed");
    let file = folder.join("answers.txt");
    fs::write(&file, FILE).unwrap();
    let began = std::time::Instant::now();
    let start = |grove: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
        command.arg("start").arg(grove).arg("--from").arg(&file).stdin(Stdio::null());
        command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
    };
    assert!(start(&folder.join("whole")).wait().unwrap().success());
    let usual = began.elapsed().as_micros() as u64;
    let whole = fs::read_to_string(folder.join("whole/grove.yaml")).unwrap();
    let mut instants = crate::log_append::Instants::new(29);
    let mut made = 0;
    for round in 0..40 {
        let grove = folder.join(format!("grove-{round}"));
        let child = start(&grove);
        std::thread::sleep(std::time::Duration::from_micros(usual / 3 + instants.below(usual * 3 / 4)));
        crate::log_append::kill(child);
        if let Ok(yaml) = fs::read_to_string(grove.join("grove.yaml")) {
            assert_eq!(yaml, whole);
            ran(&["advise", "--long", grove.to_str().unwrap()], 0);
            made += 1;
        }
        // Whatever was left, the same command goes on.
        assert!(start(&grove).wait().unwrap().success(), "round {round}");
        assert_eq!(fs::read_to_string(grove.join("grove.yaml")).unwrap(), whole);
    }
    println!("{made} of 40 were done before they were killed");
}

/// A longitude without its minus is nine hours from its time zone: the words to write are said, and both are asked again, also
/// where it was stopped in between.
#[test]
fn a_longitude_without_its_minus_is_asked_again() {
    let wrong = GROVE
        .replace("18.20, -66.30, 90 m\nAmerica/Puerto_Rico\n", "18.20, 66.30, 90 m\nAmerica/Puerto_Rico\n");
    let right = "18.20, -66.30, 90 m\nAmerica/Puerto_Rico\n";
    let again = wrong.replacen("America/Puerto_Rico\n", &format!("America/Puerto_Rico\n{right}"), 1);
    let grove = folder("start_longitude").join("grove");
    let output = typed(&grove, &format!("{again}{SHED}"));
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{error}");
    let said = "the longitude 66.3 lies 8 h from the time zone America/Puerto_Rico";
    assert!(error.contains(said) && error.contains("write `longitude: -66.3`"), "{error}");
    assert!(fs::read_to_string(grove.join("grove.yaml")).unwrap().contains("longitude: -66.3,"));

    let grove = folder("start_longitude_stopped").join("grove");
    assert_eq!(
        typed(&grove, "La Ceiba\nhumid-lowland\nus\n18.20, 66.30, 90 m\nAmerica/Puerto_Rico\n").status.code(),
        Some(1)
    );
    let rest = GROVE.split_once("90 m\n").unwrap().1;
    let output = typed(&grove, &format!("America/Puerto_Rico\n18.20, -66.30, 90 m\n{rest}{SHED}"));
    assert_eq!(output.status.code(), Some(0), "{:?}", text(&output));
    assert!(fs::read_to_string(grove.join("grove.yaml")).unwrap().contains("longitude: -66.3,"));

    let output = run(&[
        "start",
        "target/tmp/start_longitude_from",
        "--answer",
        "place: 18.2, 66.3",
        "--answer",
        "timezone: America/Puerto_Rico",
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output).1.contains(said), "{:?}", text(&output));
}

/// `mancozeb WP` is no bicarbonate: a jug that bears the name of another product is asked about again.
#[test]
fn a_jug_with_the_name_of_another_product_is_asked_again() {
    let grove = folder("start_jug_name").join("grove");
    let shed = SHED.replace("wettable sulfur\n", "mancozeb WP\nwettable sulfur\n");
    let output = typed(&grove, &format!("{GROVE}{shed}"));
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{error}");
    assert!(
        error.contains("the jug `mancozeb WP` is filed under `sulfur`, but it bears the name of `mancozeb`"),
        "{error}"
    );
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    assert!(yaml.contains("name: wettable sulfur") && !yaml.contains("mancozeb"), "{yaml}");
}

#[test]
fn answers_are_taken_in_any_usual_form_and_a_question_mark_explains() {
    let grove = folder("answers_in_any_usual_form").join("grove");
    let answers = ANSWERS.replace("2027-06-20\nno\nno\n", "?\nJune 20, 2031\nNope\nNO!\n");
    let answers = answers.replacen("humid-lowland\n", "?\nhumid-lowland\n", 1);
    let output = typed(&grove, &answers);
    let (out, error) = text(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{error}");
    assert!(error.contains("the days before harvest on labels are counted back from it"), "{error}");
    assert!(error.contains("dry-hills: Leeward hills, 50 m to 400 m"), "{error}");
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    assert!(
        yaml.contains("2031-06-20")
            && yaml.contains("sprays: sprays.csv")
            && !yaml.contains("certified: organic"),
        "{yaml}"
    );
}

#[test]
fn a_weather_file_is_read_whole_before_it_is_taken() {
    let folder = folder("a_weather_file_is_read_whole");
    let file = folder.join("station.csv");
    fs::write(&file, "time,temperature [°F]\n2026-01-01T00:00,60\n2026-01-01T01:00,61,9,9\n").unwrap();
    let named = file.to_str().unwrap();
    let answers = GROVE.trim_end_matches('\n').to_string() + &format!("\n{named}\n");
    let (out, error) = text(&typed(&folder.join("grove"), &answers));
    assert!(error.contains("the row has 4 cells"), "{out}\n{error}");
}
