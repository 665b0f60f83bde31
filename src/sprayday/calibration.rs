//! How fast a sprayer must drive and how much its nozzles must give: one equation, with lengths, times and volumes in
//! base units (mm, h, mm³).
//!
//! Spray on an area (a depth, mm³ on mm²) = flow / (speed · width of the swath). The constants 495, 5940 and 600 of the
//! worksheets are this equation in mixed units.

/// A course driven for calibration.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Course {
    /// How long it is, in millimetres.
    pub length: f64,
    /// How long it took, in hours.
    pub time: f64,
}

impl Course {
    /// Returns the speed, in millimetres an hour.
    pub fn speed(self) -> f64 {
        self.length / self.time
    }
}

/// Returns the flow of all nozzles together, in cubic millimetres an hour, that puts a depth on a swath at a speed. Of
/// an air-blast sprayer that blows to both sides the swath is the spacing of the rows.
pub fn flow(depth: f64, speed: f64, swath: f64) -> f64 {
    depth * speed * swath
}

/// Returns the depth that a flow puts on a swath at a speed.
pub fn depth_of_flow(flow: f64, speed: f64, swath: f64) -> f64 {
    flow / (speed * swath)
}

/// Returns the depth that a volume makes on a measured strip.
pub fn depth_of_strip(volume: f64, length: f64, swath: f64) -> f64 {
    volume / (length * swath)
}

/// Returns the land worked in an hour, in square millimetres, where so large a share of the time is spent spraying.
pub fn work_rate(speed: f64, swath: f64, efficiency: f64) -> f64 {
    speed * swath * efficiency
}

/// Returns the pressure for another flow of the same nozzle: the flow goes with the square root of the pressure.
pub fn pressure_for_flow(pressure: f64, flow: f64, wanted: f64) -> f64 {
    let times = wanted / flow;
    pressure * times * times
}
