/**
 * The numbers beside the reasons that are no cutoff: thresholds with their hysteresis, the rest, the
 * room in the window, the ration. In the order in which the core looks at them. Values come in the
 * core's units and leave as words with a reader's units.
 */
import { divFloor } from '../../controller/integer.js';
import { Input } from '../../controller/readings.js';
import { Reason } from '../../controller/reasons.js';
import { neededRestMs } from '../../controller/tick/4-burst.js';
import { depressionDc } from '../../controller/wet-bulb.js';
import { pressure, seconds, temperature, volume } from '../report/format.js';
import {
  atLeast,
  healthWord,
  plain,
  rpmText,
  type Numbers,
  type NumbersOf,
  type Seen,
} from './why-numbers.js';

interface Threshold {
  readonly input: Input;
  readonly name: string;
  readonly value: number;
  readonly on: number;
  readonly off: number;
  readonly isMet: boolean;
  readonly text: (value: number) => string;
}

/** A threshold with hysteresis: once met, it is met until the value falls under where it lets go. */
function threshold(seen: Seen, one: Threshold): Numbers {
  const health = healthWord(seen, one.input);
  if (health !== 'ok') return plain(`${one.name} ${health}`, 'a healthy reading');
  if (one.value < one.on && one.isMet) {
    const kept = `${one.text(one.value - one.off)} above where it lets go`;
    return plain(one.text(one.value), `held until under ${one.text(one.off)}`, kept);
  }
  const numbers = atLeast(one.value, one.on, one.text, ['above', 'too little']);
  // The demand outlasts a threshold that is missed for less than demandHold.
  if (one.value >= one.on || seen.core.state.demand.demand === 0) return numbers;
  return { ...numbers, margin: `${numbers.margin}, for less than demandHold` };
}

const temperatureNumbers: NumbersOf = (seen) => {
  const { settings, state, rules } = seen.core;
  const { tempOnDc, tempOffDc } = rules.demand;
  const value = settings.lookAheadMs === 0 ? seen.readings.chargeDc : state.demand.expectedDc;
  const numbers = threshold(seen, {
    ...{ input: Input.Charge, name: 'charge', value, on: tempOnDc, off: tempOffDc },
    isMet: state.demand.tempMet === 1,
    text: temperature,
  });
  if (settings.lookAheadMs === 0) return numbers;
  return { ...numbers, measured: `${numbers.measured} expected within lookAhead` };
};

const speedNumbers: NumbersOf = (seen) => {
  const { demand } = seen.core.rules;
  return threshold(seen, {
    ...{ input: Input.Rpm, name: 'engine speed', value: seen.readings.rpm },
    ...{ on: demand.rpmOn, off: demand.rpmOff, text: rpmText },
    isMet: seen.core.state.demand.rpmMet === 1,
  });
};

const boostNumbers: NumbersOf = (seen) => {
  const { demand } = seen.core.rules;
  return threshold(seen, {
    ...{ input: Input.Boost, name: 'boost', value: seen.readings.boostHpa },
    ...{ on: demand.boostOnHpa, off: demand.boostOffHpa, text: pressure },
    isMet: seen.core.state.demand.boostMet === 1,
  });
};

const roomNumbers: NumbersOf = ({ core, readings }) => {
  const least = core.rules.demand.minDepressionDc;
  if (least === 0) return plain('not asked for: minDepression is 0, or the air is not measured');
  const room = depressionDc(readings.ambientDc, readings.humidityPm);
  return atLeast(room, least, temperature, ['above', 'too little']);
};

const restNumbers: NumbersOf = ({ core, readings }) => {
  const { account, health } = core.state;
  const needed = neededRestMs(core.rules.burst, health, account, readings);
  if (core.state.output.pump === 1) return plain('spraying', `then a rest of ${seconds(needed)}`);
  const left = needed - account.restedMs;
  return plain(
    `rested ${account.restedMs >= 3_600_000 ? 'for long' : seconds(account.restedMs)}`,
    `at least ${seconds(needed)}`,
    left > 0 ? `${seconds(left)} still to rest` : '',
  );
};

const windowNumbers: NumbersOf = ({ core }) => {
  const { account, demand } = core.state;
  const { burstMs, dutyLimitMs, standstillLimitMs } = core.rules.burst;
  const limit = demand.keptStill === 1 ? Math.min(standstillLimitMs, dutyLimitMs) : dutyLimitMs;
  const room = limit - account.windowMs;
  return plain(
    `room for ${seconds(Math.max(0, room))} in the window`,
    `a burst of ${seconds(burstMs)}`,
    room >= burstMs
      ? `${seconds(room - burstMs)} to spare`
      : `${seconds(burstMs - room)} too little`,
  );
};

const rationNumbers: NumbersOf = ({ core }) => {
  const { stageLeftMs } = core.state.burst;
  if (stageLeftMs === 0) return plain('no ration runs');
  const usableUl = Math.max(0, core.state.account.tankUl - core.settings.reserveUl);
  const usableMs = divFloor(usableUl, core.settings.flowUlps) * 1000;
  return plain(
    `water for ${seconds(usableMs)} of spray (${volume(usableUl)})`,
    `${seconds(stageLeftMs)} of stage left`,
  );
};

/** In the order of the core's decision. */
export const WAITING_NUMBERS: readonly { readonly reason: Reason; readonly numbers: NumbersOf }[] =
  [
    {
      reason: Reason.RoadMode,
      numbers: ({ core }) =>
        plain(`stage switch ${core.state.health.stage === 1 ? 'closed' : 'open'}`, 'closed'),
    },
    { reason: Reason.NoTemperature, numbers: temperatureNumbers },
    { reason: Reason.NoEngineSpeed, numbers: speedNumbers },
    { reason: Reason.NoBoost, numbers: boostNumbers },
    { reason: Reason.TooHumid, numbers: roomNumbers },
    { reason: Reason.Resting, numbers: restNumbers },
    { reason: Reason.NoRoom, numbers: windowNumbers },
    { reason: Reason.Rationed, numbers: rationNumbers },
  ];
