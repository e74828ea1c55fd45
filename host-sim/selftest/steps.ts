/**
 * THE table of the self-test: its steps in their order, what each asks for, and the bounds of inputs at rest.
 * Steps, record and docs/selftest.md are made from it. Units: 1/min, hPa (absolute), degC, %, km/h, V.
 */
import type { InputName } from '../../controller/readings.js';

export interface StepRow {
  readonly title: string;
  /** What must be seen for a pass. */
  readonly passes: string;
}

export const STEPS = {
  carried: {
    title: 'what it carries',
    passes: 'image and core bundle are those of this smirr; settings and calibration can be read',
  },
  rest: { title: 'at rest', passes: 'each fitted input is healthy and within its range below' },
  arm: { title: 'arm switch', passes: 'closed and open are seen, and no other switch moves' },
  stage: { title: 'stage switch', passes: 'closed and open are seen, and no other switch moves' },
  button: { title: 'button', passes: 'closed and open are seen, and no other switch moves' },
  level: { title: 'tank level', passes: 'the float, lifted or let down, changes it, and back' },
  charge: {
    title: 'charge sensor',
    passes: 'warmed by 2 degC or more, and ambient by less than 1',
  },
  ambient: {
    title: 'ambient sensor',
    passes: 'warmed by 2 degC or more, and charge by less than 1',
  },
  boost: { title: 'pressure sensor', passes: 'moved by 50 hPa or more' },
  rpm: { title: 'tach', passes: 'pulses read as 300 1/min or more, and as 0 when they end' },
  lamp: { title: 'lamp', passes: 'the flashes counted are those that were sent' },
  armOpens: { title: 'enable, arm switch open', passes: 'at most 0.5 V at the plug of the pump' },
  refill: {
    title: 'refill told',
    passes: 'the button, held for 4 s while disarmed, is understood',
  },
  noPump: {
    title: 'missing pump',
    passes: 'armed, pump-circuit is active within 1 s, enable open',
  },
  enable: { title: 'enable, arm switch closed', passes: 'the supply at the plug, within 1 V' },
  pump: { title: 'low side', passes: 'the times counted that it conducts are those that it did' },
  supervisor: {
    title: 'supervisor',
    passes: 'a pump that stays on is dropped after 12.0 to 12.3 s, and the cause is told',
  },
  watchdog: {
    title: 'watchdog',
    passes:
      'without ticks the outputs are off within 100 ms, the chip is reset, and the core says so',
  },
  cleared: {
    title: 'pump circuit kept as faulty',
    passes:
      'what the missing pump latched is let go; what was kept before, only if a person has it mended',
  },
  ready: { title: 'pump plugged in', passes: 'armed, enable closes and the low side is lifted' },
  spray: { title: 'water', passes: 'held, the button sprays for 2 s without a cutoff' },
  stop: { title: 'water stops', passes: 'the button let go, pump off within 0.3 s' },
  mist: { title: 'mist and leaks', passes: 'a person sees mist at every nozzle, and no leak' },
  outputs: { title: 'at the end', passes: 'arm switch open, both outputs open' },
} as const satisfies Record<string, StepRow>;

export type StepName = keyof typeof STEPS;

export interface RestRow {
  readonly min: number;
  readonly max: number;
  readonly unit: string;
  /** Why these bounds; common practice where no source is named. */
  readonly why: string;
}

/** What inputs must read with the engine off and a car that is cool enough to work at. */
export const AT_REST: Readonly<Record<InputName, RestRow>> = {
  rpm: { min: 0, max: 0, unit: '1/min', why: 'the engine is off' },
  boost: {
    min: 600,
    max: 1090,
    unit: 'hPa',
    why: 'absolute: the air, from 4,200 m (ISO 2533) to the highest barometer',
  },
  charge: { min: -20, max: 60, unit: 'degC', why: 'a cooler that can be touched' },
  ambient: { min: -20, max: 50, unit: 'degC', why: 'air that people work in' },
  humidity: { min: 5, max: 100, unit: '%', why: 'no air outdoors is drier' },
  speed: { min: 0, max: 0, unit: 'km/h', why: 'the car stands' },
  level: { min: 1, max: Infinity, unit: '', why: 'the tank is filled' },
  supply: { min: 11.5, max: 15, unit: 'V', why: 'a charged 12 V battery, or one on its charger' },
  feedback: { min: 0, max: 0, unit: '', why: 'nothing feeds the pump' },
};

/** What must be typed before outputs are driven without the pump, and before water. */
export const UNPLUGGED = 'the pump is unplugged';
export const WATER = 'water may spray';
export const REPAIRED = 'the pump circuit is repaired';
