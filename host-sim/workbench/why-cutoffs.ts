/**
 * The numbers beside each cutoff in the list of reasons: what was measured in this tick, what it was
 * held against, and by how much. One entry a cutoff, in the order of their bits. Values come in the
 * core's units and leave as words with a reader's units.
 */
import { Input } from '../../controller/readings.js';
import { Kind } from '../../controller/reasons.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { decimal, NBSP, seconds, temperature, volume } from '../report/format.js';
import {
  atLeast,
  healthWord,
  plain,
  rpmText,
  type Numbers,
  type NumbersOf,
  type Seen,
} from './why-numbers.js';

const volts = (mv: number) => `${decimal(mv / 1000, 1)}${NBSP}V`;

const isFitted = ({ core }: Seen, input: Input) => (core.calibration.fitted & input) !== 0;

function engine(seen: Seen): Numbers {
  const { core, readings } = seen;
  const health = healthWord(seen, Input.Rpm);
  if (health !== 'ok') return plain(`engine speed ${health}`, 'a healthy reading');
  return atLeast(readings.rpm, core.settings.runRpm, rpmText, ['above', 'under']);
}

function sensors(seen: Seen): Numbers {
  const boost = healthWord(seen, Input.Boost);
  const charge = healthWord(seen, Input.Charge);
  return plain(`boost ${boost}, charge ${charge}`, 'both healthy');
}

function late({ core }: Seen): Numbers {
  const late = core.state.health.lateBits & core.rules.cutoffs.needed;
  const after = seconds(core.settings.lateAfterMs);
  return plain(
    late === 0 ? 'no needed reading is late' : 'a needed reading is late',
    `under ${after} old`,
  );
}

function frost(seen: Seen): Numbers {
  const { core, readings } = seen;
  const { settings, state } = core;
  const words = ['above', 'under'] as const;
  if (!isFitted(seen, Input.Ambient)) {
    const numbers = atLeast(readings.chargeDc, settings.freezeDc, temperature, words);
    return { ...numbers, measured: `charge ${numbers.measured}, no ambient sensor` };
  }
  const health = healthWord(seen, Input.Ambient);
  if (health !== 'ok') return plain(`ambient ${health}`, 'a healthy reading');
  const numbers = atLeast(state.cutoffs.lowestDc, settings.freezeDc, temperature, words);
  return { ...numbers, measured: `lowest ambient of 10 min ${numbers.measured}` };
}

function floor({ core, readings }: Seen): Numbers {
  return atLeast(readings.chargeDc, core.settings.floorDc, temperature, ['above', 'under']);
}

function burstLength({ core }: Seen): Numbers {
  const { account } = core.state;
  const most = core.settings.maxBurstMs;
  const isSpraying = account.kind !== Kind.None;
  return plain(
    isSpraying ? `spraying for ${seconds(account.pieceMs)}` : 'not spraying',
    `at most ${seconds(most)} in one piece`,
    isSpraying ? `${seconds(most - account.pieceMs)} left` : '',
  );
}

function duty({ core }: Seen): Numbers {
  const used = core.state.account.windowMs;
  const limit = core.rules.cutoffs.dutyLimitMs;
  const window = seconds(core.settings.dutyWindowMs);
  return plain(
    `${seconds(used)} sprayed in the last ${window}`,
    `under ${seconds(limit)}`,
    used < limit ? `${seconds(limit - used)} left` : 'used up',
  );
}

function standstill(seen: Seen): Numbers {
  const { core } = seen;
  const { account, demand } = core.state;
  if (isFitted(seen, Input.Speed) && healthWord(seen, Input.Speed) !== 'ok') {
    return plain(`vehicle speed ${healthWord(seen, Input.Speed)}`, 'a healthy reading');
  }
  if (demand.keptStill === 0) return plain('the car moves');
  const most = core.settings.standstillMaxMs;
  const share = core.rules.cutoffs.standstillLimitMs;
  const left = Math.min(most - account.standstillMs, share - account.windowMs);
  return plain(
    `${seconds(account.standstillMs)} sprayed at standstill, ${seconds(account.windowMs)} in the window`,
    `under ${seconds(most)}, and under ${seconds(share)} in the window`,
    left > 0 ? `${seconds(left)} left` : 'used up',
  );
}

function reserve({ core }: Seen): Numbers {
  const { reserveUl } = core.settings;
  const over = core.state.account.tankUl - reserveUl;
  return plain(
    `${volume(core.state.account.tankUl)} in the tank`,
    `more than ${volume(reserveUl)}`,
    over > 0 ? `${volume(over)} above` : 'nothing above',
  );
}

function tank(seen: Seen): Numbers {
  const { core, readings } = seen;
  const estimate = `estimate ${volume(core.state.account.tankUl)}`;
  if (!isFitted(seen, Input.Level)) return plain(`${estimate}, no level sensor`, 'more than none');
  const health = healthWord(seen, Input.Level);
  if (health !== 'ok') return plain(`${estimate}, level ${health}`, 'a healthy level');
  const isLow = readings.level <= core.rules.cutoffs.levelLow;
  return plain(`${estimate}, level ${isLow ? 'low' : 'not low'}`, 'more than none, and not low');
}

function supply(seen: Seen): Numbers {
  const { core, readings } = seen;
  const health = healthWord(seen, Input.Supply);
  if (health !== 'ok') return plain(`supply ${health}`, 'a healthy reading');
  const { supplyLowMv: low, supplyHighMv: high } = core.settings;
  const room = Math.min(readings.supplyMv - low, high - readings.supplyMv);
  return plain(
    volts(readings.supplyMv),
    `${volts(low)} to ${volts(high)}`,
    `${volts(Math.abs(room))} ${room >= 0 ? 'inside' : 'outside'}`,
  );
}

function pumpCircuit(seen: Seen): Numbers {
  if (!isFitted(seen, Input.Feedback)) return plain('no feedback in this trace');
  return plain(`feedback ${seen.readings.feedback}`, 'what was commanded');
}

function allowed({ core }: Seen): Numbers {
  const word = (value: number) => (value === 1 ? 'allowed' : 'forbidden');
  const { automaticAllowed, manualAllowed } = core.settings;
  return plain(`automatic ${word(automaticAllowed)}, button ${word(manualAllowed)}`);
}

/** Whether a cutoff without a number of its own is in force. */
const inForce =
  (id: string, sound: string): NumbersOf =>
  ({ core }) => {
    const bit = CUTOFFS.findIndex((row) => row.id === id);
    return plain((core.state.cutoffs.active & (1 << bit)) === 0 ? sound : 'in force');
  };

/** By the bit of the cutoff. */
export const CUTOFF_NUMBERS: readonly NumbersOf[] = [
  ({ readings }) => plain(`arm switch ${readings.arm === 1 ? 'closed' : 'open'}`, 'closed'),
  engine,
  sensors,
  late,
  frost,
  floor,
  burstLength,
  duty,
  standstill,
  reserve,
  tank,
  supply,
  pumpCircuit,
  ({ core }) =>
    plain(`button ${core.state.health.button === 1 ? 'closed' : 'open'}`, 'closed under 10 s'),
  allowed,
  inForce('bad-settings', 'settings in order'),
  inForce('unexpected-reset', 'no unexpected reset'),
  inForce('late-tick', 'ticks in time'),
  inForce('core-fault', 'no fault found'),
];
