/**
 * The cautions of a plan, where people decide what to carry and what to build. A sentence each; the
 * whole page is docs/safety.md.
 */
export const PLAN_CAUTIONS: readonly string[] = [
  "The event's technical regulations decide whether spraying is allowed at all, with what liquid (plain water), how much may be carried, and whether the driver may operate it; this plan claims no compliance.",
  'The runs are invented and the car is a model: take the water as an estimate, and measure what the first stage really used.',
  "Feed controller and pump from downstream of the car's general circuit breaker and through the fuse, close to the feed; fit a link that makes the pump provably dead while anybody works on the car.",
  'Pump and lines are under pressure up to the shut-off pressure of the pump: hose and fittings are rated above it, and kept away from hot exhaust and ignition.',
  "Run-off is slippery, under your wheels and others'; it freezes on the ground before the air reads 0 degC, and in lines and pump overnight.",
  'Work on the car with the engine stopped where it can be; a running engine moves, burns and poisons.',
  'Wiring follows the codes of the place; a competent person checks the work.',
];
