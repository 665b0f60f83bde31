//! Numbers as people read them: the one place that rounds.

/// Returns a number without the noise of binary arithmetic: twelve significant digits.
pub fn clean(number: f64) -> f64 {
    if number == 0.0 || !number.is_finite() {
        return if number.is_finite() { 0.0 } else { number };
    }
    // A whole number of fewer digits has none of it.
    if number.fract() == 0.0 && number.abs() < 1e11 {
        return number;
    }
    let text = format!("{number:.11e}");
    text.parse().unwrap_or(number)
}

/// Returns the decimals that a reader of this unit expects.
fn decimals(symbol: &str, number: f64) -> usize {
    match symbol {
        "°F" | "°C" | "%" | "mph" | "km/h" | "d" | "min" | "mL" | "ft" | "knots" => 0,
        "h" if number.fract() == 0.0 => 0,
        "h" | "mm" | "cm" | "m/s" | "m" => usize::from(number.fract() != 0.0),
        "in" | "kPa" | "ac" | "ha" | "lb" | "kg" | "gal" | "L" => 2,
        _ if number.fract() == 0.0 => 0,
        _ if number.abs() >= 100.0 => 0,
        _ => 2,
    }
}

/// Returns a number of a unit as a page prints it: `61 °F`, `48 h`, `0.20 in`.
pub fn show(number: f64, symbol: &str) -> String {
    with_decimals(number, symbol, decimals(symbol, number))
}

/// Returns a number beside the threshold that it met, with more digits where both would print alike and are not.
pub fn show_beside(number: f64, threshold: f64, symbol: &str) -> (String, String) {
    let start = decimals(symbol, number).max(decimals(symbol, threshold));
    let plain = (show(number, symbol), show(threshold, symbol));
    if plain.0 != plain.1 || clean(number) == clean(threshold) {
        return plain;
    }
    for more in start + 1..start + 6 {
        let shown = with_decimals(number, symbol, more);
        if shown != with_decimals(threshold, symbol, more) {
            return (shown, plain.1);
        }
    }
    (with_decimals(number, symbol, 12), plain.1)
}

fn with_decimals(number: f64, symbol: &str, decimals: usize) -> String {
    let mut digits = format!("{number:.decimals$}");
    if digits.starts_with('-') && digits.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.')) {
        digits.remove(0);
    }
    if symbol.is_empty() { digits } else { format!("{digits} {symbol}") }
}
