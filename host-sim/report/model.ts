/**
 * What page, text and JSON say of a run whose loop the model closed: the charge without water and with
 * these settings, the degrees won and what they are worth, and where the water went. Nothing for a run
 * on recorded temperatures.
 */
import { kelvinPerL, wonK, type ModelRun, type ModelSide } from '../closed-loop/model-run.js';
import { ZERO_K } from '../plant/air.js';
import { cautiousPowerRatio, densityRatio, standardPowerRatio } from '../plant/density.js';
import type { Run } from '../replay/run.js';
import { decimal, NBSP, shown, temperature } from './format.js';
import type { Part } from './sentence.js';

/** The loop in JSON: temperatures in degC, water in litres. Nothing is said where nothing is known. */
export interface ModelJson {
  readonly car: string;
  readonly dry: SideJson;
  readonly wet: SideJson;
  /** Mean and worst, K; the mean over the ticks in which the dry charge is at or above tempOn. */
  readonly wonK: number | null;
  readonly wonAtWorstK: number;
  /** Density, and what power makes of it, cooler over hotter at the two means. */
  readonly densityRatio: number | null;
  readonly powerRatioLow: number | null;
  readonly powerRatioStandard: number | null;
  /** evaporatedL + runoffL + filmL. */
  readonly waterL: number;
  readonly evaporatedL: number;
  readonly runoffL: number;
  readonly filmL: number;
  readonly kelvinPerL: number | null;
  readonly energyErrorPct: number;
}

interface SideJson {
  readonly chargeMeanDegC: number | null;
  readonly chargeMaxDegC: number;
  readonly aboveOnSeconds: number;
}

/** Numbers of JSON are rounded to what cannot be told apart by a meter, but parts still add up. */
export function modelJson(model: ModelRun): ModelJson {
  const { dry, wet, energyErrorShare } = model;
  const [evaporated, runoff, film] = [model.evaporatedKg, model.runoffKg, model.filmKg].map((kg) =>
    Math.round(kg * 1e6),
  );
  return {
    car: model.carName,
    dry: sideJson(dry),
    wet: sideJson(wet),
    wonK: known(wonK(model), 3),
    wonAtWorstK: Number((dry.chargeMaxK - wet.chargeMaxK).toFixed(2)),
    densityRatio: known(densityRatio(dry.chargeMeanK, wet.chargeMeanK), 4),
    powerRatioLow: known(cautiousPowerRatio(dry.chargeMeanK, wet.chargeMeanK), 4),
    powerRatioStandard: known(standardPowerRatio(dry.chargeMeanK, wet.chargeMeanK), 4),
    waterL: (evaporated + runoff + film) / 1e6,
    evaporatedL: evaporated / 1e6,
    runoffL: runoff / 1e6,
    filmL: film / 1e6,
    kelvinPerL: known(kelvinPerL(model), 2),
    energyErrorPct: Number((energyErrorShare * 100).toPrecision(2)),
  };
}

function sideJson({ chargeMeanK, chargeMaxK, aboveOnSeconds }: ModelSide): SideJson {
  return {
    chargeMeanDegC: known(chargeMeanK - ZERO_K, 3),
    chargeMaxDegC: Number((chargeMaxK - ZERO_K).toFixed(2)),
    aboveOnSeconds: Number(aboveOnSeconds.toFixed(2)),
  };
}

function known(value: number, decimals: number): number | null {
  return Number.isNaN(value) ? null : Number(value.toFixed(decimals));
}

/** One sentence on what the water did, as parts; empty without a model. */
export function modelParts({ model, settings }: Run): Part[] {
  if (model === undefined) return [];
  const on = temperature(settings.tempOnDc);
  const won = wonK(model);
  if (Number.isNaN(won)) {
    return ['By the model the charge stays below tempOn, ', on, ', without water too.'];
  }
  if (model.sprayedKg === 0) {
    return [
      'By the model the charge is at or above tempOn, ',
      on,
      ` for ${timeOf(model.dry)} without water, and these settings spray none.`,
    ];
  }
  return [
    'By the model the water cooled the charge by ',
    { strong: kelvin(won) },
    ` on average while it would have been at or above tempOn without, and by ${kelvin(worst(model))} at its worst; ` +
      `worth ${percentMore(densityRatio(model.dry.chargeMeanK, model.wet.chargeMeanK))} of density and ` +
      `${kelvin(kelvinPerL(model), 1)} for each litre.`,
  ];
}

function worst({ dry, wet }: ModelRun): number {
  return dry.chargeMaxK - wet.chargeMaxK;
}

function kelvin(value: number, decimals = 1): string {
  return `${decimal(value, decimals)}${NBSP}K`;
}

function timeOf({ aboveOnSeconds }: ModelSide): string {
  return `${decimal(aboveOnSeconds, 1)}${NBSP}s`;
}

function percentMore(ratio: number): string {
  return `${decimal((ratio - 1) * 100, 1)}${NBSP}%`;
}

/** Rows of "without water" beside "with these settings". */
export function sideRows({ model }: Run): [what: string, dry: string, wet: string][] {
  if (model === undefined) return [];
  const { dry, wet } = model;
  const degC = (kelvins: number): string =>
    Number.isNaN(kelvins) ? '\u2013' : `${decimal(kelvins - ZERO_K, 1)}${NBSP}°C`;
  return [
    [
      'charge, mean while the dry one is at or above tempOn',
      degC(dry.chargeMeanK),
      degC(wet.chargeMeanK),
    ],
    ['charge, hottest', degC(dry.chargeMaxK), degC(wet.chargeMaxK)],
    ['at or above tempOn', timeOf(dry), timeOf(wet)],
  ];
}

/** What was won and where the water went, a name, a number and a remark each. */
export function gainRows({ model }: Run): [what: string, value: string, remark: string][] {
  if (model === undefined) return [];
  const won = wonK(model);
  const [hot, cool] = [model.dry.chargeMeanK, model.wet.chargeMeanK];
  const millilitres = (kg: number): string => `${decimal(kg * 1000, 1)}${NBSP}ml`;
  const gains: [string, string, string][] = Number.isNaN(won)
    ? []
    : [
        ['degrees won, mean', kelvin(won, 2), 'while the dry charge is at or above tempOn'],
        ['degrees won, worst', kelvin(worst(model), 2), 'hottest against hottest'],
        [
          'density won',
          percentMore(densityRatio(hot, cool)),
          `upper bound of power; ${percentMore(cautiousPowerRatio(hot, cool))} by the square root of ` +
            `temperature, ${percentMore(standardPowerRatio(hot, cool))} by the standard's power of 0.6`,
        ],
      ];
  const perLitre = kelvinPerL(model);
  return [
    ...gains,
    ['water sprayed', millilitres(model.sprayedKg), ''],
    ['evaporated', millilitres(model.evaporatedKg), 'on the fins and in flight'],
    ['ran off', millilitres(model.runoffKg), 'dripped from the fins, or never hit them'],
    ['on the fins at the end', millilitres(model.filmKg), ''],
    ...(Number.isNaN(perLitre)
      ? []
      : [['for each litre', kelvin(perLitre), 'mean degrees won'] as [string, string, string]]),
    [
      'energy that does not close',
      `${(model.energyErrorShare * 100).toPrecision(1)}${NBSP}%`,
      'of what was turned over; the model may miss 0.1 %',
    ],
  ];
}

/** What recorded temperatures cannot show. */
export const COOLING_CAUTION =
  'A simulation of the controller, not of a car: the temperatures are the recorded ones and cannot ' +
  'show what the water would have cooled.';

/** What the reader must bear in mind of the temperatures of this run. */
export function temperatureCaution({ model }: Run): string {
  if (model === undefined) return COOLING_CAUTION;
  return (
    `Temperatures are a model's, of the car ${shown(model.carName)}, not measured ones: what the car file ` +
    'assumes, they assume. Fit the car to a dry recording, and measure on the car, before you rely on them.'
  );
}
