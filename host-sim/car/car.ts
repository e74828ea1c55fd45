/**
 * A car as the model sees it: engine, compressor, charge-air cooler, its film of water, engine bay,
 * sensor, nozzles, what drives and what brakes. One record of numbers in SI units (pressures in Pa,
 * speeds in m/s, shares from 0 to 1), units at the end of each name; engine speeds are in 1/min, as the
 * trade writes them. layout.ts says what each value may be; read.ts makes a `Car` of a file.
 */

/** A quantity by engine speed, straight lines between the points, level beyond their ends. */
export interface Curve {
  /** Rising, 1/min. */
  readonly rpm: readonly number[];
  /** One for each engine speed, in the unit that the curve's name ends in. */
  readonly values: readonly number[];
}

export interface Engine {
  readonly displacementM3: number;
  readonly volumetricEfficiencyShare: number;
  /** Diameter of the restrictor in front of the compressor; 0 if there is none. */
  readonly restrictorM: number;
  readonly idleRpm: number;
}

export interface Compressor {
  readonly efficiencyShare: number;
  /** Pressure lost before the compressor at `cooler.hotFlowKgps`. */
  readonly inletLossPa: number;
}

export interface Cooler {
  readonly heatCapacityJpk: number;
  /** From the charge into the metal, at `hotFlowKgps` of charge. */
  readonly hotWpk: number;
  readonly hotFlowKgps: number;
  readonly hotExponent: number;
  /** From the metal into the cooling air, dry, at `coldFlowKgps` of air. */
  readonly coldWpk: number;
  readonly coldFlowKgps: number;
  readonly coldExponent: number;
  readonly faceM2: number;
  /** Speed of the air in front of the fins as a share of the car's. */
  readonly ductShare: number;
  /** Speed of the air in front of the fins at standstill. */
  readonly standstillAirMps: number;
  readonly finM2: number;
  /** Pressure lost by the charge at `hotFlowKgps`. */
  readonly coreLossPa: number;
}

export interface Film {
  /** Share of the fins that the mist reaches. */
  readonly wettedShare: number;
  /** From this thickness on (a mean over the fins that are reached) they are wet all over. */
  readonly wetThicknessM: number;
  /** What is above this thickness runs off. */
  readonly runoffThicknessM: number;
  /** Share of the air's way that is closed when the film is at `runoffThicknessM`. */
  readonly floodShare: number;
}

export interface Bay {
  /** How much warmer than outside the engine bay gets at standstill. */
  readonly riseK: number;
  /** Vehicle speed at which the rise is half of that. */
  readonly halfSpeedMps: number;
  readonly lagS: number;
  /** From the bay into the cooler's metal. */
  readonly soakWpk: number;
  /** Share of bay air in the air before the fins at standstill. */
  readonly recirculationShare: number;
}

export interface Sensor {
  readonly lagS: number;
}

export interface Spray {
  readonly nozzleM3ps: number;
  readonly nozzleCount: number;
  /** Share of the water that lands on the fins. */
  readonly landingShare: number;
  /** Share of the water that evaporates on its way to the fins. */
  readonly inFlightShare: number;
}

export interface Vehicle {
  readonly massKg: number;
  readonly powerW: Curve;
  /** Drag coefficient times frontal area. */
  readonly dragM2: number;
  /** Rolling resistance as a share of weight. */
  readonly rollingShare: number;
  /** Acceleration that the tyres can give, as a multiple of gravity. */
  readonly grip: number;
  /** Vehicle speed at 1,000 1/min in each gear, rising. */
  readonly gearsMps: readonly number[];
  readonly upshiftRpm: number;
  readonly shiftS: number;
}

export interface Boost {
  /** Boost (gauge) at full load with the turbine at speed. */
  readonly fullPa: Curve;
  /** Boost with the throttle closed; below zero. */
  readonly closedPa: number;
  readonly lagUpS: number;
  readonly lagDownS: number;
}

export interface Car {
  readonly engine: Engine;
  readonly compressor: Compressor;
  readonly cooler: Cooler;
  readonly film: Film;
  readonly bay: Bay;
  readonly sensor: Sensor;
  readonly spray: Spray;
  readonly vehicle: Vehicle;
  readonly boost: Boost;
}

/** The value of a curve at an engine speed (1/min), in the curve's unit. */
export function along({ rpm, values }: Curve, atRpm: number): number {
  const last = rpm.length - 1;
  if (atRpm <= rpm[0]) return values[0];
  if (atRpm >= rpm[last]) return values[last];
  let high = 1;
  while (rpm[high] < atRpm) high++;
  const share = (atRpm - rpm[high - 1]) / (rpm[high] - rpm[high - 1]);
  return values[high - 1] + share * (values[high] - values[high - 1]);
}
