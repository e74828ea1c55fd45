/**
 * The plant: a charge-air cooler in wall segments along the way of the charge, each with metal that
 * stores heat, a film of water that evaporates, and its own share of the cooling air; an engine bay that
 * warms it; a sensor that lags. `setAir` takes what a row says, `step` moves everything on by 1 ms to 1 s.
 * SI units: K, Pa, kg/s, J; engine speed in 1/min. docs/model.md has every equation with its source.
 */
import type { Car } from '../car/car.js';
import {
  CP_DRY_AIR,
  CP_VAPOUR,
  humidityRatioOf,
  latentHeat,
  moistDensity,
  saturatedPotential,
  saturationTable,
  vapourPa,
  wetBulbK,
  withoutFog,
  type MoistAir,
} from './air.js';
import { bayRiseK, bayShareAt } from './bay.js';
import { chargeOf, type Charge } from './intake.js';

/** One lump of metal would be 12 K too warm; eight segments are within 0.7 % of cross-flow. */
export const SEGMENTS = 8;

const WATER_KGPM3 = 998;
/** Flows under this are none: it keeps ratios of flows finite. */
const FLOW_MIN_KGPS = 1e-6;

export interface Weather {
  readonly ambientK: number;
  /** Relative humidity, 0 to 1. */
  readonly humidityShare: number;
  readonly pressurePa: number;
}

/** What was put in and what came out since the start, J. */
export interface EnergyBooks {
  /** Given by the charge. */
  readonly chargeJ: number;
  /** Seeped in from the engine bay. */
  readonly bayJ: number;
  /** Taken by the cooling air as warmth. */
  readonly airJ: number;
  /** Taken by water that evaporated on the fins. */
  readonly latentJ: number;
  /** Stored by the metal. */
  readonly metalJ: number;
}

/** Where the water went since the start, kg: sprayed = evaporated + run off + film. */
export interface WaterBooks {
  readonly sprayedKg: number;
  /** On the fins and in flight. */
  readonly evaporatedKg: number;
  /** Dripped off the fins, or never hit them. */
  readonly runoffKg: number;
  readonly filmKg: number;
}

/** Makes a plant at rest: metal and bay as warm as the air outside, fins dry. */
export function createPlant(car: Car, weather: Weather, segments = SEGMENTS): Plant {
  return new Plant(car, weather, segments);
}

/** Made by `createPlant`; fields are what can be read between steps. */
export class Plant {
  /** What the row says of the charge before the cooler. */
  charge: Charge = { flowKgps: 0, pressureRatio: 1, hotK: 0 };
  /** Behind the cooler. */
  chargeK: number;
  /** What the sensor reads. */
  sensorK: number;
  bayK: number;
  /** Wet bulb of the air outside. */
  wetBulbK: number;
  /** Metal by segment, along the way of the charge. */
  readonly metalK: Float64Array;
  /** Film of water by segment. */
  readonly filmKg: Float64Array;
  /** Cooling air through the core when nothing is flooded. */
  coolingKgps = 0;

  private readonly segments: number;
  private readonly segmentJpk: number;
  private readonly soakWpk: number;
  private readonly wetKg: number;
  private readonly runoffKg: number;
  /** How much of the air's way each kilogram above `wetKg` closes, 1/kg. */
  private readonly closing: number;
  private readonly potentials: Float64Array;
  private readonly tableLowK: number;
  private readonly tablePerK: number;
  private readonly pressurePa: number;
  private readonly startMetalK: Float64Array;

  // What a row sets once, so that a step need not.
  private ambientK: number;
  private humidityRatio: number;
  private airPotential = 0;
  private hotShare = 1;
  private hotWpk = 0;
  private chargeWpk = 0;
  private coldWpk = 0;
  private vapourKgps = 0;
  private airWpk = 1;
  private dryKgps = 1;
  private latentOutside = 0;
  private inFlightMaxKgps = 0;
  private recirculation = 0;
  private bayTargetK: number;

  // What a step sets for its segments, and a segment for its film.
  private stepS = 0;
  private stepPerJpk = 0;
  private landedKg = 0;
  private coldK = 0;
  private coldPotential = 0;
  private goneKg = 0;
  private slopeKgpk = 0;
  private latent = 0;

  private chargeJ = 0;
  private bayJ = 0;
  private airJ = 0;
  private latentJ = 0;
  private sprayedKg = 0;
  private evaporatedKg = 0;
  private lostKg = 0;

  constructor(
    private readonly car: Car,
    weather: Weather,
    segments: number,
  ) {
    const { cooler, film, bay } = car;
    this.segments = segments;
    this.segmentJpk = cooler.heatCapacityJpk / segments;
    this.soakWpk = bay.soakWpk / segments;
    const reachedKgpm = (film.wettedShare * cooler.finM2 * WATER_KGPM3) / segments;
    this.wetKg = reachedKgpm * film.wetThicknessM;
    this.runoffKg = reachedKgpm * film.runoffThicknessM;
    this.closing = film.floodShare / (this.runoffKg - this.wetKg);
    this.pressurePa = weather.pressurePa;
    const table = saturationTable(weather.pressurePa);
    this.potentials = table.potentials;
    this.tableLowK = table.lowK;
    this.tablePerK = table.perK;
    this.ambientK = weather.ambientK;
    this.humidityRatio = -1;
    this.wetBulbK = weather.ambientK;
    this.chargeK = weather.ambientK;
    this.sensorK = weather.ambientK;
    this.bayK = weather.ambientK;
    this.bayTargetK = weather.ambientK;
    this.metalK = new Float64Array(segments).fill(weather.ambientK);
    this.filmKg = new Float64Array(segments);
    this.startMetalK = Float64Array.from(this.metalK);
    this.setWeather(weather.ambientK, weather.humidityShare);
    this.setAir(0, weather.pressurePa, 0);
  }

  /** The air outside, where a trace has recorded it; `setAir` must follow. */
  setWeather(ambientK: number, humidityShare: number): void {
    const ratio = humidityRatioOf(ambientK, Math.min(1, humidityShare), this.pressurePa);
    if (ambientK === this.ambientK && ratio === this.humidityRatio) return;
    this.ambientK = ambientK;
    this.humidityRatio = ratio;
    this.airPotential = Math.log1p(ratio);
    this.wetBulbK = wetBulbK(ambientK, ratio, this.pressurePa);
    this.latentOutside = latentHeat(this.wetBulbK);
  }

  /** A row: engine speed, absolute manifold pressure, vehicle speed. */
  setAir(rpm: number, manifoldPa: number, speedMps: number): void {
    const { cooler } = this.car;
    const charge = chargeOf(
      this.car,
      rpm,
      manifoldPa,
      this.chargeK,
      this.ambientK,
      this.pressurePa,
    );
    this.charge = charge;
    const flow = Math.max(FLOW_MIN_KGPS, charge.flowKgps);
    this.chargeWpk = flow * CP_DRY_AIR;
    const hot = (cooler.hotWpk * (flow / cooler.hotFlowKgps) ** cooler.hotExponent) / this.segments;
    this.hotShare = 1 - Math.exp(-hot / this.chargeWpk);
    this.hotWpk = this.hotShare * this.chargeWpk;
    this.setCooling(speedMps);
    this.recirculation = this.car.bay.recirculationShare * bayShareAt(this.car, speedMps);
    this.bayTargetK = this.ambientK + bayRiseK(this.car, speedMps);
  }

  /** The air before the fins, and what it takes from them for each kelvin and each unit of potential. */
  private setCooling(speedMps: number): void {
    const { cooler } = this.car;
    const vapour = vapourPa(this.humidityRatio, this.pressurePa);
    const density = moistDensity(this.ambientK, vapour, this.pressurePa);
    const airMps = Math.max(cooler.standstillAirMps, cooler.ductShare * speedMps);
    const flow = density * cooler.faceM2 * airMps;
    this.coolingKgps = flow;
    const dryKgps = flow / (1 + this.humidityRatio);
    this.dryKgps = dryKgps;
    this.airWpk = dryKgps * (CP_DRY_AIR + CP_VAPOUR * this.humidityRatio);
    const cold = cooler.coldWpk * (flow / cooler.coldFlowKgps) ** cooler.coldExponent;
    const share = 1 - Math.exp(-cold / this.airWpk);
    this.coldWpk = (share * this.airWpk) / this.segments;
    // Lewis number 1: vapour crosses the same boundary layer as heat, so the share is the same.
    this.vapourKgps = (this.car.film.wettedShare * share * dryKgps) / this.segments;
    const coolable = this.airWpk * Math.max(0, this.ambientK - this.wetBulbK);
    this.inFlightMaxKgps = coolable / this.latentOutside;
  }

  /** Metal and bay as they are after a long time of this row with dry fins; starts the books anew. */
  settle(): void {
    this.bayK = this.bayTargetK;
    const coldK = this.ambientK + this.recirculation * (this.bayK - this.ambientK);
    let gasK = this.charge.hotK;
    for (let k = 0; k < this.segments; k++) {
      const sum = this.hotWpk + this.coldWpk + this.soakWpk;
      const heat = this.hotWpk * gasK + this.coldWpk * coldK + this.soakWpk * this.bayK;
      this.metalK[k] = heat / sum;
      gasK -= this.hotShare * (gasK - this.metalK[k]);
    }
    this.chargeK = gasK;
    this.sensorK = gasK;
    this.filmKg.fill(0);
    this.start(this.metalK[0], this.bayK, false);
  }

  /** Starts with this metal (if `isEven`) and bay, and with empty books. */
  start(metalK: number, bayK: number, isEven = true): void {
    if (isEven) {
      this.metalK.fill(metalK);
      this.chargeK = metalK;
      this.sensorK = metalK;
    }
    this.bayK = bayK;
    this.startMetalK.set(this.metalK);
    this.chargeJ = this.bayJ = this.airJ = this.latentJ = 0;
    this.sprayedKg = this.evaporatedKg = this.lostKg = 0;
  }

  /** Moves on by `stepS` (0.001 to 1 s) while `sprayKgps` of water is sprayed. */
  step(stepS: number, sprayKgps: number): void {
    const { segments, metalK, hotShare } = this;
    const inFlightKgps = this.beginStep(stepS, sprayKgps);
    const { hotK } = this.charge;
    let gasK = hotK;
    let gasEndK = hotK;
    for (let k = 0; k < segments; k++) {
      const meanK = this.moveWall(k, gasK);
      gasK -= hotShare * (gasK - meanK);
      gasEndK -= hotShare * (gasEndK - metalK[k]);
    }
    this.chargeK = gasEndK;
    this.chargeJ += this.chargeWpk * (hotK - gasK) * stepS;
    const flownKg = inFlightKgps * stepS;
    const sprayedKg = sprayKgps * stepS;
    this.sprayedKg += sprayedKg;
    this.evaporatedKg += flownKg;
    this.lostKg += sprayedKg - flownKg - this.landedKg * segments;
    this.sensorK = follow(this.sensorK, gasK, stepS / this.car.sensor.lagS);
    this.bayK = follow(this.bayK, this.bayTargetK, stepS / this.car.bay.lagS);
  }

  /** What is the same for every segment of a step; gives the water that evaporates in flight, kg/s. */
  private beginStep(stepS: number, sprayKgps: number): number {
    const { spray } = this.car;
    // What exceeds the nozzles' own flow is no mist: its drops are too coarse to vanish on the way.
    const mistKgps = Math.min(sprayKgps, spray.nozzleM3ps * spray.nozzleCount * WATER_KGPM3);
    const inFlightKgps = Math.min(spray.inFlightShare * mistKgps, this.inFlightMaxKgps);
    this.stepS = stepS;
    this.stepPerJpk = stepS / this.segmentJpk;
    this.landedKg = (spray.landingShare * sprayKgps * stepS) / this.segments;
    // What evaporates in flight cools and moistens the cooling air before it meets the fins.
    this.coldK =
      this.ambientK +
      this.recirculation * (this.bayK - this.ambientK) -
      (inFlightKgps * this.latentOutside) / this.airWpk;
    this.coldPotential =
      inFlightKgps === 0
        ? this.airPotential
        : Math.log1p(this.humidityRatio + inFlightKgps / this.dryKgps);
    return inFlightKgps;
  }

  /** Moves one segment on, metal and film, while charge of `gasK` passes; gives its mean metal, K. */
  private moveWall(k: number, gasK: number): number {
    const { hotWpk, soakWpk, coldK, bayK, stepS, stepPerJpk } = this;
    const startK = this.metalK[k];
    const waterKg = this.filmKg[k];
    const open = waterKg > this.wetKg ? 1 - this.closing * (waterKg - this.wetKg) : 1;
    const coldWpk = this.coldWpk * open;
    let sumWpk = hotWpk + coldWpk + soakWpk;
    let heatW = hotWpk * (gasK - startK) + coldWpk * (coldK - startK) + soakWpk * (bayK - startK);
    this.findEvaporation(startK, waterKg, open);
    if (this.goneKg > 0) {
      heatW -= (this.goneKg * this.latent) / stepS;
      sumWpk += (this.slopeKgpk * this.latent) / stepS;
    }
    // y' = (heat - sum y) / C for the rise y of the metal, with exp(-x) as 1 / (1 + x + x2/2).
    let x = sumWpk * stepPerJpk;
    let rise = (heatW * stepPerJpk) / (1 + x + 0.5 * x * x);
    if (this.goneKg > 0) {
      const there = waterKg + this.landedKg;
      const wanted = this.goneKg + this.slopeKgpk * rise * (0.5 + 0.5 * x);
      if (wanted > there || wanted < 0) {
        // The fins dry out (or nothing leaves them) in this step, however the metal moves.
        const left = wanted < 0 ? 0 : there;
        heatW += ((this.goneKg - left) * this.latent) / stepS;
        x = (sumWpk - (this.slopeKgpk * this.latent) / stepS) * stepPerJpk;
        rise = (heatW * stepPerJpk) / (1 + x + 0.5 * x * x);
        this.goneKg = left;
      } else this.goneKg = wanted;
    }
    const meanK = startK + rise * (0.5 + 0.5 * x);
    this.metalK[k] = startK + rise * (1 + 0.5 * x);
    this.airJ += coldWpk * (meanK - coldK) * stepS;
    this.bayJ += soakWpk * (bayK - meanK) * stepS;
    this.keepFilm(k, waterKg);
    return meanK;
  }

  /**
   * What would evaporate from a segment in this step if its metal stayed at `startK`, and by how much
   * that grows with each kelvin: sets `goneKg`, `slopeKgpk` and `latent`.
   */
  private findEvaporation(startK: number, waterKg: number, open: number): void {
    this.goneKg = 0;
    if (waterKg === 0 && this.landedKg === 0) return;
    const { potentials, tablePerK, wetKg } = this;
    let at = (startK - this.tableLowK) * tablePerK;
    if (at < 0) at = 0;
    else if (at > potentials.length - 2) at = potentials.length - 2;
    const index = at | 0;
    const slope = potentials[index + 1] - potentials[index];
    const drive = potentials[index] + (at - index) * slope - this.coldPotential;
    if (drive <= 0) return;
    const fullKg = this.vapourKgps * open * drive * this.stepS;
    this.latent = 2.501e6 - 2361 * (startK - 273.15);
    this.goneKg = fullKg * wetShare(waterKg / wetKg, this.landedKg / wetKg, fullKg / wetKg);
    this.slopeKgpk = (this.goneKg * slope * tablePerK) / drive;
  }

  /** The film after this step's water has landed, evaporated and run off. */
  private keepFilm(k: number, waterKg: number): void {
    const { goneKg, runoffKg } = this;
    this.evaporatedKg += goneKg;
    if (goneKg > 0) this.latentJ += goneKg * this.latent;
    let leftKg = waterKg + this.landedKg - goneKg;
    if (leftKg > runoffKg) {
      this.lostKg += leftKg - runoffKg;
      leftKg = runoffKg;
    }
    this.filmKg[k] = leftKg > 0 ? leftKg : 0;
  }

  /** Energy since the start. */
  energy(): EnergyBooks {
    let metalJ = 0;
    for (let k = 0; k < this.segments; k++) {
      metalJ += this.segmentJpk * (this.metalK[k] - this.startMetalK[k]);
    }
    const { chargeJ, bayJ, airJ, latentJ } = this;
    return { chargeJ, bayJ, airJ, latentJ, metalJ };
  }

  /** Water since the start. */
  water(): WaterBooks {
    const { sprayedKg, evaporatedKg, lostKg } = this;
    return { sprayedKg, evaporatedKg, runoffKg: lostKg, filmKg: this.filmTotalKg() };
  }

  /** Water on all fins. */
  filmTotalKg(): number {
    let sum = 0;
    for (let k = 0; k < this.segments; k++) sum += this.filmKg[k];
    return sum;
  }

  /** What all the reached fins would evaporate if they were wet all over and this warm. */
  evaporationLimitKgps(metalK: number): number {
    const drive = saturatedPotential(metalK, this.pressurePa) - this.airPotential;
    return Math.max(0, this.segments * this.vapourKgps * drive);
  }

  /**
   * Cooling air behind one segment, its wet and dry parts mixed, as the row and the metal stand now.
   * Warm moist air that meets cool air can hold less than both brought: what is over is fog, whose heat
   * stays in the air.
   */
  airBehind(segment: number): MoistAir {
    const share = (this.coldWpk * this.segments) / this.airWpk;
    const coldK = this.ambientK + this.recirculation * (this.bayK - this.ambientK);
    const metalK = this.metalK[segment];
    const wetness = Math.min(1, this.filmKg[segment] / this.wetKg);
    const drive = Math.max(0, saturatedPotential(metalK, this.pressurePa) - this.airPotential);
    const gained = (wetness * drive * this.vapourKgps * this.segments) / this.dryKgps;
    return withoutFog(
      coldK + share * (metalK - coldK),
      this.humidityRatio + gained,
      this.pressurePa,
    );
  }
}

/**
 * Mean wetness (0 to 1) over a step of a film that starts at `film`, gains `landed` and would lose `full`
 * if it were wet all over; all three as shares of the film that wets all over.
 */
function wetShare(film: number, landed: number, full: number): number {
  // Patches: wetness is the film itself, f' = landed - full f, with exp(-x) as 1 / (1 + x + x2/2).
  if (film < 1) {
    const mean =
      film + ((landed - full * film) * (0.5 + 0.5 * full)) / (1 + full + 0.5 * full * full);
    return mean < 1 ? mean : 1;
  }
  const mean = film + 0.5 * (landed - full);
  return mean < 1 ? Math.max(0, mean) : 1;
}

/** A first-order lag towards `target`; `x` is the step over the time constant. */
function follow(value: number, target: number, x: number): number {
  return value + ((target - value) * (x + 0.5 * x * x)) / (1 + x + 0.5 * x * x);
}
