//! The weather file of a new grove: whether it is there, can be read, and says when its forecast was issued.

use super::files;
use crate::grove::setup::Wrong;
use crate::phrase::said;
use crate::problems::{Level, Problem, Problems};
use crate::source::Sources;
use crate::weather::{self, WeatherFile};
use chrono::Utc;
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A grove that is being set up.
pub struct NewWeather<'n> {
    /// Its folder.
    pub folder: &'n Path,
    /// Its time zone.
    pub zone: Tz,
}

impl NewWeather<'_> {
    /// Looks at a file that was named, inside the grove or as seen from here; returns its path as seen from the grove.
    pub fn named(&self, named: &str) -> Result<String, Wrong> {
        let inside = self.folder.join(named);
        let path = if inside.is_file() { inside } else { PathBuf::from(named) };
        let help = || "name it as seen from here; an empty line if there is none yet".into();
        let text = files::read(&path, files::GROVE_LIMIT)
            .map_err(|refusal| Wrong { message: refusal.message, help: refusal.help.unwrap_or_else(help) })?;
        let (problems, _) = self.problems(named, &text);
        // That hours lie ahead is asked about next; everything else that is wrong is said before the file is taken.
        let ahead =
            |problem: &Problem| problem.help.as_ref().is_some_and(|help| help.contains("forecast-issued"));
        let error = |problem: &&Problem| problem.finding.level() == Level::Error && !ahead(problem);
        if let Some(problem) = problems.iter().find(error) {
            let help = problem.help.clone().unwrap_or_else(help);
            return Err(Wrong {
                message: said!("`{named}`: {message}", named, message = problem.message),
                help,
            });
        }
        let whole = path.canonicalize().unwrap_or(path);
        let folder = self.folder.canonicalize().unwrap_or_else(|_| self.folder.to_owned());
        Ok(whole.strip_prefix(&folder).unwrap_or(&whole).to_string_lossy().into_owned())
    }

    /// Holds a file of which no forecast is said against now: its hours may not reach past it.
    pub fn has_no_forecast(&self, file: &str) -> Result<(), Wrong> {
        // That it can be read was looked at before.
        let Ok(text) = files::read(&self.folder.join(file), files::GROVE_LIMIT) else { return Ok(()) };
        let (problems, _) = self.problems(file, &text);
        let wants = |problem: &&Problem| {
            problem.finding.level() == Level::Error
                && problem.help.as_ref().is_some_and(|help| help.contains("forecast-issued"))
        };
        problems.iter().find(wants).map_or(Ok(()), |problem| {
            let help = "write when the forecast was issued: `2027-02-10T18:00`".into();
            Err(Wrong { message: problem.message.clone(), help })
        })
    }

    fn problems(&self, name: &str, text: &str) -> (Problems, Sources) {
        let mut sources = Sources::default();
        let source = sources.add(name, text);
        let file = WeatherFile {
            text,
            source,
            columns: &BTreeMap::new(),
            zone: self.zone,
            as_of: Utc::now(),
            forecast_issued: None,
            measured_to: None,
            gauge: &BTreeMap::new(),
        };
        (weather::read(&file).1, sources)
    }
}
