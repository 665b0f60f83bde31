//! What is answered of a weather file: by flags, or at the terminal.

use super::end::Refusal;
use super::terminal::Stream;
use crate::intake::{FormAnswers, FormQuestion, Intake, Topic};
use crate::phrase::said;
use crate::report::taken::TakenWords;
use clap::builder::PossibleValuesParser;
use std::io;

/// The answers that flags give.
#[derive(clap::Args, Debug)]
pub struct FormFlags {
    /// Which comes first in a date such as 3/4/2027
    #[arg(long, value_name = "ORDER", value_parser = PossibleValuesParser::new(Topic::Dates.choices()))]
    dates: Option<String>,
    /// Whether a row tells of what comes after its time or before it
    #[arg(long, value_name = "WHICH", value_parser = PossibleValuesParser::new(Topic::Stamps.choices()))]
    stamps: Option<String>,
    /// Whether the clock of the file goes forward in summer
    #[arg(long, value_name = "CLOCK", value_parser = PossibleValuesParser::new(Topic::Clock.choices()))]
    clock: Option<String>,
    /// The unit of temperatures without one
    #[arg(long, value_name = "UNIT", ignore_case = true, value_parser = PossibleValuesParser::new(Topic::Temperature.choices()))]
    temperature: Option<String>,
    /// The unit of wind without one
    #[arg(long, value_name = "UNIT", value_parser = PossibleValuesParser::new(Topic::Wind.choices()))]
    wind: Option<String>,
    /// The unit of rain without one
    #[arg(long, value_name = "UNIT", value_parser = PossibleValuesParser::new(Topic::Rain.choices()))]
    rain: Option<String>,
    /// What the rain counts
    #[arg(long, value_name = "WHAT", value_parser = PossibleValuesParser::new(Topic::RainIs.choices()))]
    rain_is: Option<String>,
    /// The title of the column that is meant where two fit; several are parted by `;`
    #[arg(long, value_name = "TITLE")]
    take: Option<String>,
    /// When the day of a file of days begins: hours are made of it
    #[arg(long, value_name = "TIME", value_parser = PossibleValuesParser::new(Topic::Day.choices()))]
    day: Option<String>,
    /// When a forecast was made that does not say it: 2027-02-10T18:00
    #[arg(long, value_name = "TIME")]
    issued: Option<String>,
    /// Which station of a file is meant
    #[arg(long, value_name = "NAME")]
    station: Option<String>,
    /// Takes a typical year for weather, to teach or rehearse
    #[arg(long)]
    typical_year: bool,
    /// Whether it is dry where a forecast in words says nothing
    #[arg(long, value_name = "YES-NO", value_parser = PossibleValuesParser::new(Topic::DryOtherwise.choices()))]
    dry_otherwise: Option<String>,
    /// How windy it is where a forecast in words says nothing: calm, `5-10 mph`
    #[arg(long, value_name = "WORDS")]
    wind_otherwise: Option<String>,
}

impl FormFlags {
    /// Returns the answers that were given.
    pub fn answers(&self) -> Result<FormAnswers, Refusal> {
        let typical = self.typical_year.then(|| "yes".to_string());
        let given = [
            (Topic::Dates, &self.dates),
            (Topic::Stamps, &self.stamps),
            (Topic::Clock, &self.clock),
            (Topic::Temperature, &self.temperature),
            (Topic::Wind, &self.wind),
            (Topic::Rain, &self.rain),
            (Topic::RainIs, &self.rain_is),
            (Topic::Take, &self.take),
            (Topic::Day, &self.day),
            (Topic::Issued, &self.issued),
            (Topic::Station, &self.station),
            (Topic::TypicalYear, &typical),
            (Topic::DryOtherwise, &self.dry_otherwise),
            (Topic::WindOtherwise, &self.wind_otherwise),
        ];
        let mut answers = FormAnswers::default();
        for (topic, answer) in given {
            let Some(answer) = answer else { continue };
            if !answers.give(topic, answer) {
                return Err(Refusal::new(said!(
                    "`--{topic} {answer}` says nothing",
                    answer,
                    topic = topic.word()
                )));
            }
            if topic == Topic::Issued && crate::tables::read_stamp(answer).is_none() {
                let refusal = Refusal::new(said!("--issued: `{answer}` is not a moment", answer));
                return Err(refusal.help("write the date and the time of day: `2027-02-10T18:00`"));
            }
        }
        Ok(answers)
    }
}

/// Asks the first question that is needed; nothing where the grower leaves it.
pub fn asked_at_terminal(
    intake: &Intake,
    words: &TakenWords<'_>,
) -> Result<Option<(Topic, String)>, Refusal> {
    let Some(question) = intake.questions.iter().find(|question| question.is_needed) else { return Ok(None) };
    let FormQuestion { topic, proposed, .. } = question;
    let choices = topic.choices().join(", ");
    let mut prompt = words.question(question);
    if !choices.is_empty() {
        prompt += &format!(" ({choices})");
    }
    match proposed {
        Some(answer) => prompt += &format!(" [{answer}] "),
        None => prompt += &format!("\n{} ", words.words.say("form.ask.leave", &[])),
    }
    loop {
        Stream::Diagnostics.print(&prompt)?;
        let mut answer = String::new();
        // A terminal that cannot be read gives no answer.
        let read = io::stdin().read_line(&mut answer).unwrap_or(0);
        let answer = match (answer.trim(), proposed) {
            ("", Some(proposed)) if read > 0 => *proposed,
            ("", _) => return Ok(None),
            (answer, _) => answer,
        };
        let mut fits = FormAnswers::default();
        let is_moment = *topic != Topic::Issued || crate::tables::read_stamp(answer).is_some();
        if is_moment && fits.give(*topic, answer) {
            return Ok(Some((*topic, answer.to_string())));
        }
        Stream::Diagnostics.print(&(words.words.say("form.ask.again", &[]) + "\n"))?;
    }
}
