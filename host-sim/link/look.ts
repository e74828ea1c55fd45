/**
 * One look at a running controller, in words: its readings with their health, what it does and why, and
 * what is left of water and duty. Codes and a few words of the state come over the link; the readings
 * are made of the codes by the calibration that the controller carries.
 */
import { create, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { HEALTH_WORDS, Input, INPUTS, type InputName } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import { calibrate, makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { LAMPS } from '../../controller/tick/6-output.js';
import { readCodes } from '../../boards/emulator/tick-record.js';
import type { Carried } from './device.js';
import type { Look, LookReading } from './look-record.js';
import { u16, type Status } from './messages.js';
import { StateWords } from './state-words.js';

/** Words of the state that a look needs, in the order in which they are asked for. */
const WORDS = [
  'health.word',
  'account.windowMs',
  'account.tankUl',
  'account.tankKnown',
  'demand.demand',
  'burst.stageLeftMs',
  'burst.service',
  'calibrate.ambientHpa',
] as const;

export type { Look, LookReading };

export class Looker {
  /** Payload of STATUS. */
  readonly payload: readonly number[];
  private readonly core: Core;
  private readonly codes = makeCodesRecord();

  constructor({ settings, calibration }: Carried) {
    this.core = create(settings, calibration, LIMITS);
    const { names } = new StateWords(this.core);
    this.payload = WORDS.flatMap((word) => u16(names.indexOf(word)));
  }

  /** What a status says. */
  read(status: Status): Look {
    const { core, codes } = this;
    readCodes({ peek: (_name, at = 0) => status.codes[at], poke: () => undefined }, codes);
    const value = (name: (typeof WORDS)[number]) => status.words[WORDS.indexOf(name)];
    const { readings, state, rules } = core;
    calibrate(state.calibrate, rules.calibrate, codes, readings, state.events);
    const stage = readings.stage === 1 ? 'stage' : 'road';
    return {
      tick: status.tick,
      nowMs: codes.nowMs,
      readings: this.lookReadings(value('health.word'), value('calibrate.ambientHpa')),
      armed: readings.arm === 1,
      button: readings.button === 1,
      mode: value('burst.service') === 1 ? 'service' : stage,
      pump: (status.word & 1) !== 0,
      enable: (status.word & 2) !== 0,
      reason: REASONS[(status.word >> 5) & 31]?.id ?? 'none',
      cutoffs: CUTOFFS.filter((_, bit) => ((status.word >> (11 + bit)) & 1) !== 0).map(
        (row) => row.id,
      ),
      demand: value('demand.demand'),
      dutyPercent: Math.floor((value('account.windowMs') * 1000) / core.settings.dutyWindowMs) / 10,
      tankL: value('account.tankUl') / 1e6,
      tankKnown: value('account.tankKnown') === 1,
      stageLeftS: value('burst.stageLeftMs') / 1000,
      lamp: LAMPS[(status.word >> 2) & 7]?.id ?? 'none',
    };
  }

  private lookReadings(health: number, ambientHpa: number): LookReading[] {
    const { readings, state, calibration } = this.core;
    // Boost is over ambient: by the device's measure, not by this core's, which has none.
    const boostHpa = readings.boostHpa + state.calibrate.ambientHpa - ambientHpa;
    const values: Readonly<Record<InputName, readonly [value: number, unit: string]>> = {
      rpm: [readings.rpm, '1/min'],
      boost: [boostHpa, 'hPa'],
      charge: [readings.chargeDc / 10, 'degC'],
      ambient: [readings.ambientDc / 10, 'degC'],
      humidity: [readings.humidityPm / 10, '%'],
      speed: [readings.speedDkmh / 10, 'km/h'],
      level: [readings.level, ''],
      supply: [readings.supplyMv / 1000, 'V'],
      feedback: [readings.feedback, ''],
    };
    return INPUTS.flatMap((input, index) => {
      if ((calibration.fitted & (1 << index) & Input.All) === 0) return [];
      const [value, unit] = values[input];
      return [{ input, value, unit, health: HEALTH_WORDS[(health >> (3 * index)) & 7] ?? 'lost' }];
    });
  }
}

/** A look as one line. */
export function lineOf(look: Look): string {
  const parts = [
    `${(look.nowMs / 1000).toFixed(2)} s`,
    ...look.readings.map(readingText),
    look.armed ? 'armed' : 'disarmed',
    look.mode,
    look.pump ? 'SPRAYS' : 'off',
    look.reason,
    ...(look.cutoffs.length > 0 ? [`cutoffs ${look.cutoffs.join('+')}`] : []),
    `duty ${look.dutyPercent} %`,
    `tank ${look.tankL.toFixed(2)} L${look.tankKnown ? '' : ' (unknown)'}`,
    `lamp ${look.lamp}`,
  ];
  return parts.join(' | ');
}

/** A look as lines for a terminal; `rates` is said last. */
export function linesOf(look: Look, rates: string): string[] {
  const row = (name: string, text: string) => `  ${name.padEnd(10)} ${text}`;
  return [
    `Controller at ${(look.nowMs / 1000).toFixed(2)} s, tick ${look.tick}`,
    ...look.readings.map(({ input, value, unit, health }) =>
      row(input, `${`${value}`.padStart(8)} ${unit.padEnd(6)} ${health}`),
    ),
    row('mode', `${look.mode}, ${look.armed ? 'armed' : 'disarmed'}`),
    row(
      'spray',
      `${look.pump ? 'ON' : 'off'}, enable ${look.enable ? 'closed' : 'open'}, demand ${look.demand}`,
    ),
    row('reason', look.reason),
    row('cutoffs', look.cutoffs.length > 0 ? look.cutoffs.join(', ') : 'none'),
    row('duty', `${look.dutyPercent} % of the window`),
    row('tank', `${look.tankL.toFixed(3)} L${look.tankKnown ? '' : ', unknown'}`),
    row('stage', `${look.stageLeftS.toFixed(0)} s left`),
    row('lamp', look.lamp),
    row('rates', rates),
  ];
}

function readingText({ input, value, unit, health }: LookReading): string {
  const mark = health === 'ok' ? '' : ` (${health})`;
  return `${input} ${value}${unit === '' ? '' : ` ${unit}`}${mark}`;
}
