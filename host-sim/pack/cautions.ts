/**
 * The usual cautions, where people act on them: printed with every pack. A sentence each; the whole
 * page is docs/safety.md.
 */
export const CAUTIONS: readonly string[] = [
  "Feed controller and pump from downstream of the car's general circuit breaker and through a fuse of their own, sized for the cable.",
  'Fit a link that can be taken out by hand and makes the pump provably dead; take it out while anybody works on the car.',
  'Pump and lines are under pressure: let it off before opening a fitting, and keep hoses away from what moves or chafes.',
  'Keep water away from hot exhaust, turbine housing and ignition.',
  "Water that does not evaporate makes the ground slippery, under your wheels and others': keep spray off cars that follow.",
  'Water freezes on the ground before the air reads 0 degC, and bursts lines and pump in frost.',
  'A running engine moves, burns and poisons: link out, hair and clothing tied, exhaust led outside, car held, a second person at the switch.',
  'Whether spraying is allowed, with what liquid, how much of it, and whether by the driver, the technical regulations of the event decide; this pack claims no compliance.',
  'Wiring follows the codes of the place; a competent person checks the work. Try it with plain water before the car moves.',
];
