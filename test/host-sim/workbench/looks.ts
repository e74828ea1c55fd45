/**
 * Looks at a controller that runs a built-in demo, made of a replay's ticks: what a link would have said
 * of them every so many ticks. For tests of what is made of looks.
 */
import { HEALTH_WORDS, Input, INPUTS } from '../../../controller/readings.js';
import { REASONS } from '../../../controller/reasons.js';
import type { Settings } from '../../../controller/settings.js';
import { CUTOFFS } from '../../../controller/tick/5-cutoffs.js';
import { LAMPS } from '../../../controller/tick/6-output.js';
import type { Look, LookReading } from '../../../host-sim/link/look-record.js';
import { drive } from '../../../host-sim/replay/drive.js';
import type { Run } from '../../../host-sim/replay/run.js';
import { demoTrace, type DemoName } from '../../../host-sim/trace/demo.js';

/** The run, and a look every `everyTicks`. */
export function looksAt(
  demo: DemoName,
  settings: Settings,
  everyTicks: number,
): { readonly run: Run; readonly looks: readonly Look[] } {
  const looks: Look[] = [];
  const run = drive(demoTrace(demo), {
    settings,
    settingsName: 'demo',
    onTick: (core, readings, nowMs) => {
      if ((nowMs / 20) % everyTicks !== 0) return;
      const { state, calibration } = core;
      const values = {
        ...{ rpm: readings.rpm, boost: readings.boostHpa, charge: readings.chargeDc / 10 },
        ...{ ambient: readings.ambientDc / 10, humidity: readings.humidityPm / 10 },
        ...{ speed: readings.speedDkmh / 10, level: readings.level, feedback: readings.feedback },
        supply: readings.supplyMv / 1000,
      };
      looks.push({
        tick: nowMs / 20,
        nowMs,
        readings: INPUTS.flatMap((input, index): LookReading[] => {
          if ((calibration.fitted & (1 << index) & Input.All) === 0) return [];
          const health = HEALTH_WORDS[(state.health.word >> (3 * index)) & 7];
          return [{ input, value: values[input], unit: '', health }];
        }),
        armed: readings.arm === 1,
        button: readings.button === 1,
        mode: readings.stage === 1 ? 'stage' : 'road',
        pump: state.output.pump === 1,
        enable: state.output.enable === 1,
        reason: REASONS[state.output.reason].id,
        cutoffs: CUTOFFS.filter((_, bit) => ((state.cutoffs.active >> bit) & 1) !== 0).map(
          ({ id }) => id,
        ),
        demand: state.demand.demand,
        dutyPercent: 0,
        tankL: state.account.tankUl / 1e6,
        tankKnown: true,
        stageLeftS: 0,
        lamp: LAMPS[state.output.lamp].id,
      });
    },
  });
  return { run, looks };
}
