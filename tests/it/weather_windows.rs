//! Windows of hours, days and nights, and what runs over days.

use super::weather_measures::{Ground, ends, extent, hours, measure, moment, plan};
use bloomward::measure::{Extent, History, LastSpray, Reading, Truth, UnknownHistory};
use bloomward::plan::{Condition, Gate, NameId, Sprayed};
use bloomward::weather::Site;
use chrono::{DateTime, Days, Duration, NaiveDate, Utc};

/// A grove with an hour's temperature given by its number from a first moment on.
fn ground(items: &str, zone: &str, from: &str, count: i64, as_of: &str, issued: Option<&str>) -> Ground {
    let first = if count > 0 { moment(from) } else { moment(as_of) };
    let mut csv = String::from("time,temperature [°C],rain [mm]\n");
    for hour in 0..count {
        let at = first + Duration::hours(hour);
        csv += &format!("{},{},1\n", at.format("%Y-%m-%dT%H:%MZ"), hour as f64 / 100.0);
    }
    let as_of = moment(as_of);
    Ground {
        plan: plan("0 %", items),
        weather: (count > 0).then(|| hours(&csv, zone, as_of, issued)),
        site: Site::new(18.05, -66.5, 120.0, zone.parse().unwrap()),
        as_of,
    }
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Returns from when to when an aggregate of a measure is taken, and how many hours or days that are.
#[track_caller]
fn window(ground: &Ground, name: &str, history: &dyn History) -> (String, String, i64) {
    let weather_measures = ground.weather_measures();
    let id = ground.plan.name(name).unwrap();
    let bloomward::plan::Origin::Measure(measure) = &ground.plan[id].origin else { panic!("{name}") };
    let bloomward::plan::ExprNode::Aggregate(aggregate, window) = &*measure.expr.node else {
        panic!("{name}")
    };
    let from = weather_measures.explain_aggregate(aggregate, window, history).unwrap();
    (from.from.format("%m-%d %H").to_string(), from.to.format("%m-%d %H").to_string(), from.steps)
}

#[test]
fn hours_and_days_before_and_after_the_advice() {
    let windows = [
        ("last 3 h", ("02-11 02", "02-11 05", 3)),
        ("next 3 h", ("02-11 05", "02-11 08", 3)),
        ("last 1 days", ("02-10 00", "02-11 00", 24)),
        ("last 2 days", ("02-09 00", "02-11 00", 48)),
        ("next 1 days", ("02-12 00", "02-13 00", 24)),
        ("today", ("02-11 00", "02-12 00", 24)),
        ("last 2 days and today", ("02-09 00", "02-12 00", 72)),
        ("today and next 1 days", ("02-11 00", "02-13 00", 48)),
        ("since 2027-02-10", ("02-10 00", "02-11 05", 29)),
        ("since 9 Feb", ("02-09 00", "02-11 05", 53)),
    ];
    for (written, (from, to, count)) in windows {
        let items = format!("measure warm = mean temperature over {written}\n");
        let ground = ground(
            &items,
            "America/Puerto_Rico",
            "2027-02-08T04:00:00Z",
            200,
            "2027-02-11T05:30:00-04:00",
            Some("2027-02-11T05:00:00-04:00"),
        );
        let history = UnknownHistory { plan: &ground.plan };
        assert_eq!(window(&ground, "warm", &history), (from.into(), to.into(), count), "{written}");
        // Hours are numbered from midnight of the 8th: their mean is that of their numbers.
        let first = (moment("2027-02-11T05:00:00-04:00") - moment("2027-02-08T04:00:00Z")).num_hours();
        let start = match written {
            "last 3 h" => first - 3,
            "next 3 h" => first,
            _ => continue,
        };
        let (low, _) = ends(&ground.plan, &ground.weather_measures(), "warm");
        assert!((low - (start + 1) as f64 / 100.0).abs() < 1e-12, "{written}: {low}");
    }
}

/// Of hours that were only forecast and have passed nothing is known: within `gaps` what they may have been is an interval,
/// beyond them unknown.
#[test]
fn a_forecast_of_hours_that_have_passed_says_nothing_of_them() {
    let items = "measure before = mean temperature over last 3 h\nmeasure earlier = total rain over last 5 h\n\
        measure ahead = mean temperature over next 3 h\n";
    let read = |gaps: &str, issued: &str| {
        let ground = ground(
            items,
            "America/Puerto_Rico",
            "2027-02-10T04:00:00Z",
            80,
            "2027-02-11T05:30:00-04:00",
            Some(issued),
        );
        let ground = Ground { plan: plan(gaps, items), ..ground };
        let weather_measures = ground.weather_measures();
        let read =
            |name| measure(&ground.plan, &weather_measures, name, &UnknownHistory { plan: &ground.plan });
        let (earlier, ahead) = (read("earlier"), read("ahead"));
        assert_eq!((read("before").forecast, earlier.forecast, ahead.forecast), (false, false, true));
        assert!(ahead.extent.is_settled());
        earlier.extent.ends().unwrap()
    };
    let (measured, three_o_clock) = ("2027-02-11T05:00:00-04:00", "2027-02-11T03:00:00-04:00");
    assert_eq!(read("0 %", measured), (5.0, 5.0));
    // Two of the five hours: what fell in them has no end but what an hour can bring.
    let (low, high) = read("50 %", three_o_clock);
    assert!(low == 3.0 && high > 100.0, "{low} {high}");
    let nothing = (f64::NEG_INFINITY, f64::INFINITY);
    assert_eq!(read("0 %", three_o_clock), nothing);
}

#[test]
fn days_have_the_hours_that_the_clock_gives_them() {
    // New York, 2026: forward on 8 March, back on 1 November.
    for (day, count) in [("2026-03-08", 23), ("2026-03-07", 24), ("2026-11-01", 25)] {
        let next = date(day).checked_add_days(Days::new(1)).unwrap();
        let items = "measure length = hours with rain above 0 mm over last 1 days\n\
            daily all-day = hours with rain above 0 mm over that day\n\
            measure whole-day = total all-day over last 1 days\n";
        let ground = ground(
            items,
            "America/New_York",
            &format!("{day}T00:00:00Z"),
            54,
            &format!("{next}T12:00:00Z"),
            Some(&format!("{next}T12:00:00Z")),
        );
        let weather_measures = ground.weather_measures();
        assert_eq!(
            ends(&ground.plan, &weather_measures, "length"),
            (f64::from(count), f64::from(count)),
            "{day}"
        );
        assert_eq!(ends(&ground.plan, &weather_measures, "whole-day").0, f64::from(count), "{day}");
    }
}

#[test]
fn a_day_that_begins_at_eleven_is_whole_when_its_last_hour_has_passed() {
    let items = "daily sum = total rain over that day\n  days begin 11:00\n\
        measure yesterday = total sum over last 1 days\nmeasure under-way = total sum over today\n";
    for (as_of, whole) in [("2027-02-11T10:30:00-04:00", "02-09"), ("2027-02-11T11:00:00-04:00", "02-10")] {
        let ground = ground(items, "America/Puerto_Rico", "2027-02-08T04:00:00Z", 160, as_of, Some(as_of));
        let history = UnknownHistory { plan: &ground.plan };
        let (from, to, days) = window(&ground, "yesterday", &history);
        assert_eq!((&from[..], days), (&format!("{whole} 11")[..], 1), "{as_of} to {to}");
        assert_eq!(ends(&ground.plan, &ground.weather_measures(), "yesterday"), (24.0, 24.0));
        assert_eq!(window(&ground, "under-way", &history).0, to);
    }
}

/// The hours that begin between sunset and sunrise by the site's own sun.
fn dark(ground: &Ground, evening: &str) -> (DateTime<Utc>, DateTime<Utc>) {
    let up = |at: DateTime<Utc>| {
        if at.timestamp() % 3600 == 0 { at } else { at + Duration::seconds(3600 - at.timestamp() % 3600) }
    };
    let morning = date(evening).checked_add_days(Days::new(1)).unwrap();
    (up(ground.site.sun(date(evening)).sunset.unwrap()), up(ground.site.sun(morning).sunrise.unwrap()))
}

#[test]
fn nights_end_on_their_morning_and_one_under_way_is_the_latest() {
    let items = "measure one = mean temperature over last 1 nights\nmeasure two = hours with rain above 0 mm over last 2 nights\n\
        measure tonight = mean temperature over tonight\nmeasure next = mean temperature over next 1 nights\n\
        daily that-night = total rain over that night\nmeasure last-that = total that-night over last 1 days\n\
        measure spell = longest spell with rain above 0 mm over last 2 nights\n";
    // At noon the latest night has passed; at five in the morning and at nine in the evening one is under way.
    let cases = [
        ("2027-02-11T12:00:00-04:00", "2027-02-10", "2027-02-11", "2027-02-11"),
        ("2027-02-11T05:00:00-04:00", "2027-02-10", "2027-02-10", "2027-02-11"),
        ("2027-02-10T21:00:00-04:00", "2027-02-10", "2027-02-10", "2027-02-11"),
    ];
    for (as_of, latest, tonight, next) in cases {
        let ground = ground(items, "America/Puerto_Rico", "2027-02-08T04:00:00Z", 150, as_of, Some(as_of));
        let history = UnknownHistory { plan: &ground.plan };
        for (name, evening) in [("one", latest), ("tonight", tonight), ("next", next)] {
            let (from, to) = dark(&ground, evening);
            let local =
                |at: DateTime<Utc>| at.with_timezone(&ground.site.zone()).format("%m-%d %H").to_string();
            let expected = (local(from), local(to), (to - from).num_hours());
            assert_eq!(window(&ground, name, &history), expected, "{name} at {as_of}");
        }
        let before = date(latest).pred_opt().unwrap().to_string();
        let length = |evening: &str| (dark(&ground, evening).1 - dark(&ground, evening).0).num_hours() as f64;
        let weather_measures = ground.weather_measures();
        assert_eq!(ends(&ground.plan, &weather_measures, "two").0, length(latest) + length(&before));
        // The day between two nights is no part of a spell.
        assert_eq!(ends(&ground.plan, &weather_measures, "spell").0, length(latest).max(length(&before)));
    }
    let ground =
        ground(items, "America/Puerto_Rico", "2027-02-08T04:00:00Z", 150, cases[0].0, Some(cases[0].0));
    let night = (dark(&ground, "2027-02-09").1 - dark(&ground, "2027-02-09").0).num_hours() as f64;
    assert_eq!(
        ends(&ground.plan, &ground.weather_measures(), "last-that").0,
        night,
        "the night that ends on the tenth"
    );
}

#[test]
fn a_place_without_night_or_day_is_no_trouble() {
    let items = "measure dark = hours with not daylight over last 2 days\nmeasure nights = total rain over last 2 nights\n\
        measure after = highest after-sunrise over last 24 h\nmeasure set = highest after-sunset over last 24 h\n";
    for (day, hours_dark) in [("2026-06-21", 0.0), ("2026-12-21", 48.0)] {
        let as_of = format!("{day}T12:00:00Z");
        let first = moment(&as_of) - Duration::hours(100);
        let mut ground = ground(items, "Europe/Oslo", &first.to_rfc3339(), 150, &as_of, Some(&as_of));
        // Longyearbyen, at 78° north.
        ground.site = Site::new(78.22, 15.63, 0.0, "Europe/Oslo".parse().unwrap());
        let weather_measures = ground.weather_measures();
        assert_eq!(ends(&ground.plan, &weather_measures, "dark"), (hours_dark, hours_dark), "{day}");
        assert_eq!(ends(&ground.plan, &weather_measures, "nights"), (hours_dark, hours_dark), "{day}");
        assert!(
            extent(&ground.plan, &weather_measures, "after").is_empty()
                && extent(&ground.plan, &weather_measures, "set").is_empty()
        );
    }
}

/// A tree whose one spray ended at a moment, or that was never sprayed.
pub struct Sprayed1 {
    pub last: LastSpray,
    pub days: Vec<NaiveDate>,
}

impl History for Sprayed1 {
    fn number(&self) -> usize {
        7
    }

    fn last_spray(&self, _: &Sprayed) -> LastSpray {
        self.last.clone()
    }

    fn sprays_on(&self, day: NaiveDate, _: u16, _: &Sprayed) -> Reading {
        Reading::known(Extent::number(self.days.iter().filter(|it| **it == day).count() as f64))
    }

    fn amount_on(&self, _: NaiveDate, _: u16, _: &str) -> Reading {
        Reading::known(Extent::number(0.0))
    }

    fn date_of(&self, _: NameId) -> Reading {
        Reading::known(Extent::EMPTY)
    }
}

#[test]
fn rain_since_a_spray_counts_from_the_first_whole_hour_after_it() {
    let items = "measure washed = total rain since last spray\n\ntally warm-days\n  over since 9 Feb\n  add 1\n  \
        reset if sprays-today at least 1\n\ndaily sprays-today = sprays of any that day\n";
    let ground = ground(
        items,
        "America/Puerto_Rico",
        "2027-02-08T04:00:00Z",
        80,
        "2027-02-11T05:30:00-04:00",
        Some("2027-02-11T05:00:00-04:00"),
    );
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    let points = plan.name("warm-days").unwrap();
    let tree = |last, days: &[&str]| Sprayed1 { last, days: days.iter().map(|day| date(day)).collect() };
    let ended = |text| LastSpray::Ended(moment(text));
    for (text, hours) in [
        ("2027-02-11T02:00:00-04:00", 3.0),
        ("2027-02-11T02:01:00-04:00", 2.0),
        ("2027-02-11T05:10:00-04:00", 0.0),
    ] {
        let reading = measure(plan, &weather_measures, "washed", &tree(ended(text), &[]));
        assert_eq!(reading.extent, Extent::number(hours), "{text}");
    }
    assert!(measure(plan, &weather_measures, "washed", &tree(LastSpray::Never, &[])).extent.is_empty());
    let unknown = measure(plan, &weather_measures, "washed", &UnknownHistory { plan }).extent;
    assert!(unknown.may_be_empty && !unknown.is_settled());
    // The 9th and the 10th are whole; a spray on the 10th sets back that day's count before it adds.
    assert_eq!(
        weather_measures.tally(points, &tree(LastSpray::Never, &["2027-02-10"])).extent,
        Extent::number(1.0)
    );
    let other = ground.weather_measures();
    assert_eq!(other.tally(points, &tree(LastSpray::Never, &[])).extent, Extent::number(2.0));
    assert_eq!(other.tally(points, &UnknownHistory { plan }).extent, Extent::between(1.0, 2.0));
}

/// Every hour has 1 mm. Of those after a spray the ones that have passed are measured, and the rest is forecast; what lies
/// beyond the weather is not known, and where nothing was sprayed there is no such rain.
#[test]
fn hours_after_a_spray_hold_what_has_passed_and_what_is_forecast() {
    let items = "measure rained-on = total rain over the 2 h after the last spray\n\n\
        measure day-after = hours with rain above 0 mm over the 24 h after the last spray\n";
    let ground = ground(
        items,
        "America/Puerto_Rico",
        "2027-02-08T04:00:00Z",
        80,
        "2027-02-11T05:30:00-04:00",
        Some("2027-02-11T05:00:00-04:00"),
    );
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    let read =
        |name: &str, last| measure(plan, &weather_measures, name, &Sprayed1 { last, days: Vec::new() });
    let ended = |text| LastSpray::Ended(moment(text));
    for (text, forecast) in [
        ("2027-02-11T03:00:00-04:00", false),
        ("2027-02-11T03:01:00-04:00", true),
        ("2027-02-11T05:10:00-04:00", true),
    ] {
        let reading = read("rained-on", ended(text));
        assert_eq!((reading.extent, reading.forecast), (Extent::number(2.0), forecast), "{text}");
    }
    let history = Sprayed1 { last: ended("2027-02-10T03:20:00-04:00"), days: Vec::new() };
    assert_eq!(window(&ground, "rained-on", &history), ("02-10 04".into(), "02-10 06".into(), 2));
    assert_eq!(read("day-after", ended("2027-02-10T03:20:00-04:00")).extent, Extent::number(24.0));
    // The weather ends at eight in the morning.
    let beyond = read("day-after", ended("2027-02-11T03:00:00-04:00"));
    assert!(!beyond.extent.is_settled() && !beyond.extent.may_be_empty, "{beyond:?}");
    for name in ["rained-on", "day-after"] {
        assert!(read(name, LastSpray::Never).extent.is_empty());
        let unknown = measure(plan, &weather_measures, name, &UnknownHistory { plan }).extent;
        assert!(unknown.may_be_empty && !unknown.is_settled());
    }
}

/// What adds up from an event on: wet hours, and degree-hours above 20 °C, of which the hours of the 11th from two o'clock
/// on have 0.74, 0.75 and 0.76 °C each, counted above 0.5 °C.
#[test]
fn hours_and_degree_hours_add_up_since_a_spray() {
    let items = "hourly warmth = ((temperature - 0.5 °C) in °C) kept from 0 to 50\n\n\
        measure wet = hours with rain above 0 mm since last spray\n\n\
        measure degree-hours = total warmth since last spray\n";
    let ground = ground(
        items,
        "America/Puerto_Rico",
        "2027-02-08T04:00:00Z",
        80,
        "2027-02-11T05:30:00-04:00",
        Some("2027-02-11T05:00:00-04:00"),
    );
    let last = LastSpray::Ended(moment("2027-02-11T02:00:00-04:00"));
    let history = Sprayed1 { last, days: Vec::new() };
    let read = |name| measure(&ground.plan, &ground.weather_measures(), name, &history).extent;
    assert_eq!(read("wet"), Extent::number(3.0));
    let sum = read("degree-hours").one_number().unwrap();
    assert!((sum - (0.24 + 0.25 + 0.26)).abs() < 1e-9, "{sum}");
}

#[test]
fn a_tally_waits_and_keeps_to_its_bounds() {
    let items = "daily low = lowest temperature over that day\n\ntally points\n  over since 2027-02-09\n  \
        waits for low at least 0.40 °C\n  starts 60\n  add 30\n  add -10 if low at least 0.70 °C\n  kept from 0 to 100\n\n\
        tally early\n  over since 2027-02-20\n  waits for low above 0 °C\n  add 1\n\ntally later\n  over since 2027-02-20\n  starts 5\n  add 1\n\n\
        tally doubled\n  over since 2027-02-09\n  add (points or else 0)\n";
    // The lows are 0.00 °C on the 8th, then 0.24, 0.48, 0.72 and 0.96 °C.
    let at =
        |as_of: &str| ground(items, "America/Puerto_Rico", "2027-02-08T04:00:00Z", 144, as_of, Some(as_of));
    let value = |ground: &Ground, name: &str| {
        ground
            .weather_measures()
            .tally(ground.plan.name(name).unwrap(), &UnknownHistory { plan: &ground.plan })
            .extent
    };
    let days = [
        ("2027-02-10", None),
        ("2027-02-11", Some(60.0)),
        ("2027-02-12", Some(80.0)),
        ("2027-02-13", Some(100.0)),
    ];
    for (day, points) in days {
        let ground = at(&format!("{day}T05:30:00-04:00"));
        let found = value(&ground, "points");
        match points {
            Some(points) => assert_eq!(found, Extent::number(points), "{day}"),
            None => assert!(found.is_empty(), "{day}"),
        }
    }
    let ground = at("2027-02-13T05:30:00-04:00");
    assert!(value(&ground, "early").is_empty());
    assert_eq!(value(&ground, "later"), Extent::number(5.0));
    assert_eq!(value(&ground, "doubled"), Extent::number(60.0 + 80.0 + 100.0));
}

#[test]
fn gates_of_clock_and_sun_need_no_weather() {
    let items = "gate by-day\n  shuts spraying\n  in hours when clock from 06:00 to 17:00 or daylight\n\n\
        gate windy\n  shuts spraying\n  in hours when wind above 10 mph\n\n\
        gate night-shift\n  shuts spraying\n  in hours when clock from 22:00 to 04:00\n";
    let ground = ground(items, "America/Puerto_Rico", "", 0, "2027-02-11T05:30:00-04:00", None);
    let weather_measures = ground.weather_measures();
    let condition = |name: &str| -> &Condition {
        let gate: &Gate = ground.plan.gates.iter().find(|gate| &*gate.name == name).unwrap();
        gate.hours.as_ref().unwrap()
    };
    let at = |name: &str, ahead: i64| {
        weather_measures
            .hour(condition(name), weather_measures.hour_under_way() + ahead, &|_| Extent::YES_OR_NO)
    };
    // The hour under way begins at five: the sun rises at 06:52 or so.
    for (ahead, truth) in
        [(0, Truth::No), (1, Truth::Yes), (12, Truth::Yes), (13, Truth::Open), (14, Truth::No)]
    {
        assert_eq!(at("by-day", ahead).truth, truth, "{ahead} h ahead");
        assert!(!at("by-day", ahead).not_checked);
        assert!(at("windy", ahead).not_checked);
    }
    for (ahead, truth) in [
        (0, Truth::No),
        (16, Truth::No),
        (17, Truth::Yes),
        (20, Truth::Yes),
        (23, Truth::Yes),
        (24, Truth::No),
    ] {
        assert_eq!(at("night-shift", ahead).truth, truth, "{ahead} h ahead");
    }
}
