//! Whether a place can lie in its time zone: a longitude without its minus puts sunrise on the other side of the day.

use super::trouble::Trouble;
use crate::phrase::said;
use chrono::{DateTime, TimeZone};
use chrono_tz::{OffsetComponents, Tz};

/// So many hours of sun the standard time of a zone may lie away from a place in it. The furthest at which anybody lives is the
/// west of China, some three.
const APART: f64 = 3.0;
/// The first moment of 2027, in seconds.
const RECENT: i64 = 1_798_761_600;
/// The sun goes round so many degrees in an hour.
const DEGREES: f64 = 15.0;

/// Returns what is wrong with a place, degrees north and east, that lies too far from its time zone, with the words to write.
pub(super) fn misplaced((latitude, longitude): (f64, f64), zone: Tz) -> Option<Trouble> {
    if is_of_no_place(zone) || apart(longitude, zone) <= APART {
        return None;
    }
    let hours = apart(longitude, zone).round();
    let message =
        said!("the longitude {longitude} lies {hours} h from the time zone {zone}", longitude, hours, zone);
    // North and east are readily mixed up; a sign that is left out is the usual slip.
    let swapped =
        latitude != 0.0 && longitude.abs() <= 90.0 && apart(latitude, zone) < apart(-longitude, zone);
    let help = if swapped && apart(latitude, zone) <= APART {
        said!(
            "write `latitude: {longitude}, longitude: {latitude}`, or the time zone of the place",
            longitude,
            latitude
        )
    } else if apart(-longitude, zone) <= APART {
        said!(
            "write `longitude: {longitude}`, or the time zone of the place; west is negative",
            longitude = -longitude
        )
    } else {
        "write the longitude in degrees, west negative, and the time zone of the same place".into()
    };
    Some(Trouble::new(message).help(help))
}

/// Returns whether a zone belongs to no place: a record may be kept in universal time, or in a fixed offset, anywhere.
fn is_of_no_place(zone: Tz) -> bool {
    let name = zone.name();
    name.starts_with("Etc/") || name.starts_with("GMT") || ["UTC", "UCT", "Universal", "Zulu"].contains(&name)
}

/// Returns how many hours the standard time of a zone lies from the sun of a place, whichever way round is shorter.
fn apart(longitude: f64, zone: Tz) -> f64 {
    // Any moment of today's zones will do: what clocks do in summer is no part of it.
    let moment = DateTime::from_timestamp(RECENT, 0).unwrap_or_default();
    let standard = zone.offset_from_utc_datetime(&moment.naive_utc());
    let standard = standard.base_utc_offset().num_minutes() as f64 / 60.0;
    let hours = (standard - longitude / DEGREES).rem_euclid(24.0);
    hours.min(24.0 - hours)
}
