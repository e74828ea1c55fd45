/**
 * One-line sabotages of the control core, as replacements in its compiled files: each is a fault that
 * a person could make. `npm test` builds the files; a sabotage whose text is not found there, or more
 * than once, fails its test, so that the list cannot go stale unnoticed.
 */

export interface Sabotage {
  readonly name: string;
  /** The compiled file, under dist/controller. */
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

const CUTOFFS = 'tick/5-cutoffs.js';
const HEALTH = 'tick/2-health.js';
const DEMAND = 'tick/3-demand.js';
const BURST = 'tick/4-burst.js';
const CORE = 'core.js';
const CALIBRATE = 'tick/1-calibrate.js';
const CHECK = 'settings-check.js';
const OUTPUT = 'tick/6-output.js';
const ACCOUNT = 'tick/7-account.js';

function of(file: string, rows: readonly (readonly [string, string, string])[]): Sabotage[] {
  return rows.map(([name, from, to]) => ({ name, file, from, to }));
}

export const SABOTAGES: readonly Sabotage[] = [
  ...of(CUTOFFS, [
    [
      'engine-stopped waits one tick longer',
      'limits.engineStoppedMs)',
      'limits.engineStoppedMs + 20)',
    ],
    [
      'engine-stopped acts one tick early',
      'limits.engineStoppedMs)',
      'limits.engineStoppedMs - 20)',
    ],
    [
      'an unknown engine speed waits as long as a low one',
      'limits.engineUnknownMs)',
      'limits.engineStoppedMs)',
    ],
    ['sensor-lost waits one tick longer', 'limits.sensorLostMs)', 'limits.sensorLostMs + 20)'],
    ['sensor-lost lets go a tick early', 'limits.sensorBackMs)', 'limits.sensorBackMs - 20)'],
    ['late-input lets go a tick early', 'limits.lateInputBackMs)', 'limits.lateInputBackMs - 20)'],
    ['late-input never lets go', 'limits.lateInputBackMs)', '1 << 29)'],
    [
      'disarmed lets go at once',
      /* the second of two lines */ 'setMs(releases, 1 /* Cause.Disarmed */, limits.switchMs)',
      'setMs(releases, 1, 0)',
    ],
    [
      'disarmed waits one tick longer',
      'setMs(onsets, 1 /* Cause.Disarmed */, limits.switchMs)',
      'setMs(onsets, 1, limits.switchMs + 20)',
    ],
    ['supply waits one tick longer', 'limits.supplyMs)', 'limits.supplyMs + 20)'],
    ['supply lets go a tick early', 'limits.supplyBackMs)', 'limits.supplyBackMs - 20)'],
    [
      'the hysteresis of supply is inverted',
      'supply < rules.supplyLowMv + insideMv',
      'supply < rules.supplyLowMv - insideMv',
    ],
    ['the upper bound of supply is forgotten', '|| supply > rules.supplyHighMv - insideMv', ''],
    [
      'the third supply trip does not latch',
      'if (isRepeated)\n        latch(state, 131072 /* Cause.SupplyLatched */, events, nowMs);',
      '',
    ],
    ['supply trips count while the pump is off', ' && output.pump === 1', ''],
    [
      'freezing forgets the past ten minutes',
      'rules.hasAmbient === 1 ? state.lowestDc : charge',
      'rules.hasAmbient === 1 ? readings.ambientDc : charge',
    ],
    [
      'an unhealthy ambient enters the lowest',
      'if ((health.word & 3584 /* HealthMask.Ambient */) !== 0)\n        return;',
      '',
    ],
    ['the hysteresis of freezing is forgotten', '(isFrost ? rules.freezeReleaseDc : 0)', '0'],
    [
      'too-cool lets go 0.1 degC early',
      'rules.floorDc + rules.floorReleaseDc',
      'rules.floorDc + rules.floorReleaseDc - 1',
    ],
    [
      'an unhealthy charge is not too cool',
      'word |= 128 /* Cause.TooCool */;\n        if (rules.hasAmbient',
      'if (rules.hasAmbient',
    ],
    ['burst-length lets go at once', 'settings.minRestMs)', '0)'],
    [
      'burst-length is one tick late',
      'account.pieceMs >= rules.maxBurstMs',
      'account.pieceMs > rules.maxBurstMs',
    ],
    [
      'duty is one tick late',
      'account.windowMs >= rules.dutyLimitMs',
      'account.windowMs > rules.dutyLimitMs',
    ],
    ['standstillMax is forgotten', 'account.standstillMs >= rules.standstillMaxMs', 'false'],
    [
      'the reserve is one microlitre late',
      'account.tankUl <= rules.reserveUl',
      'account.tankUl < rules.reserveUl',
    ],
    [
      'an unhealthy speed is believed',
      'word |= 4096 /* Cause.SpeedUnknown */;\n    if ((faults',
      'if ((faults',
    ],
    [
      'the level switch is inverted',
      'readings.level <= rules.levelLow',
      'readings.level > rules.levelLow',
    ],
    [
      'feedback is judged one tick late',
      'state.apartOnMs >= rules.circuitMs',
      'state.apartOnMs > rules.circuitMs + 10',
    ],
    [
      'a pump that is stuck on does not latch',
      'if (state.apartOffMs >= rules.circuitMs)',
      'if (false)',
    ],
    [
      'an open circuit is not cleared by disarming',
      'const CLEARED_BY_DISARMING = 131072 /* Cause.SupplyLatched */ | 262144 /* Cause.PumpOpen */',
      'const CLEARED_BY_DISARMING = 131072',
    ],
    [
      'disarming clears a pump that is stuck on',
      'const CLEARED_BY_DISARMING = ',
      'const CLEARED_BY_DISARMING = 524288 | ',
    ],
    [
      'disarming clears a latch a tick early',
      '< rules.disarmToClearMs',
      '< rules.disarmToClearMs - 20',
    ],
    ['button-stuck lets go at once', 'limits.buttonFreeMs)', '0)'],
    [
      'what is found at the first tick waits',
      'state.causes |= word & ~1048576 /* Cause.ButtonStuck */;',
      '',
    ],
    [
      'a late tick is one millisecond later',
      'clock.elapsedMs > rules.lateTickMs',
      'clock.elapsedMs > rules.lateTickMs + 1',
    ],
    [
      'maintenance excuses a late tick',
      'if (isLate)\n        word |=',
      'if (isLate && readings.maintenance === 0)\n        word |=',
    ],
    ['a clock that stands still is believed', '|| clock.stalledCount === STALLED_COUNT_MAX', ''],
    ['a let-go goes on over a late tick', '(isLate && !begins)', 'false'],
    [
      'an unexpected reset is accepted without opening',
      'if (state.armOpenedLong === 1)',
      'if (true)',
    ],
    [
      'a timer is not begun anew',
      'if (restarts)',
      'if (restarts && state.pendingSinceMs[index] === 0)',
    ],
    [
      'manual may always use the reserve',
      '(settings.manualFromReserve === 1 ? 0 : 512 /* Cutoff.Reserve */)',
      '0',
    ],
    [
      'what the event forbids is sprayed by hand',
      '(settings.manualAllowed === 1 ? 0 : 16384 /* Cutoff.NotAllowed */)',
      '0',
    ],
    [
      'freezing does not stop all',
      '8 /* Cutoff.LateInput */ |\n    16 /* Cutoff.Freezing */ |',
      '8 /* Cutoff.LateInput */ |',
    ],
  ]),
  ...of(HEALTH, [
    [
      'an input is late one tick later',
      'if (ageMs >= rules.lateMs[index])',
      'if (ageMs > rules.lateMs[index])',
    ],
    [
      'boost over its band is healthy',
      'boost < rules.boostHpaMin || boost > rules.boostHpaMax',
      'boost < rules.boostHpaMin',
    ],
    [
      'the button is not debounced',
      'if (sinceMs(nowMs, state.buttonMovingSinceMs) < rules.switchMs)\n        return;',
      '',
    ],
    [
      'rpmMax is forgotten',
      'settings.rpmMaxRpm < limits.rpmBandMax ? settings.rpmMaxRpm : limits.rpmBandMax',
      'limits.rpmBandMax',
    ],
  ]),
  ...of(DEMAND, [
    [
      'the hysteresis of the charge is inverted',
      'settings.tempOnDc - settings.tempHysteresisDc',
      'settings.tempOnDc + settings.tempHysteresisDc',
    ],
    ['demandHold holds one tick longer', '< rules.holdMs)', '<= rules.holdMs)'],
    ['moving for 5 s ends a standstill', 'movedMs: limits.movedMs', 'movedMs: limits.movedMs >> 1'],
  ]),
  ...of(BURST, [
    ['a burst is one tick longer', 'pieceMs >= rules.burstMs', 'pieceMs > rules.burstMs'],
    ['the shortest spray is forgotten', '&& pieceMs >= rules.minSprayMs', ''],
    ['a press does not wait for minRest', 'if (account.restedMs < rules.minRestMs)', 'if (false)'],
    [
      'it never sprays by itself',
      'wish.demand === 1 ? 1 /* Kind.Automatic */',
      'wish.demand === 2 ? 1',
    ],
    [
      'the button sprays while it is held',
      'health.press === 1 && state.holdsManual',
      'state.holdsManual',
    ],
    ['road mode sprays', 'if (health.stage === 0)', 'if (false)'],
  ]),
  ...of(OUTPUT, [
    ['a spray does not ask what stops its kind', '(active & rules.stops[proposal]) === 0', 'true'],
    [
      'enable stays closed',
      '(active & stopsEnable) === 0 ? 1 : 0',
      '(active & stopsEnable & ~1) === 0 ? 1 : 0',
    ],
  ]),
  ...of(ACCOUNT, [
    [
      'the window forgets a slot too early',
      'divCeil(settings.dutyWindowMs, WINDOW_SLOTS)',
      'divFloor(settings.dutyWindowMs * 9, WINDOW_SLOTS * 10)',
    ],
    ['water is not counted', 'state.tankUl > takenUl ? state.tankUl - takenUl : 0', 'state.tankUl'],
    ['the window of a boot begins empty', 'state.windowMs = slotMs * WINDOW_SLOTS;', ''],
    ['spray at standstill is not summed', 'state.standstillMs += sprayMs;', ';'],
  ]),
  ...of(CORE, [
    ['service without a bench strap', 'from.bench ? 1 : 0', '1'],
    [
      'an unknown tank is taken to be full',
      'account.tankUl = core.settings.reserveUl',
      'account.tankUl = core.settings.tankUl',
    ],
    [
      'a stored estimate beyond the tank is believed',
      'storedUl <= core.settings.tankUl',
      'storedUl <= 60000000',
    ],
  ]),
  ...of(HEALTH, [
    [
      'what is read in turn is never late',
      'shares ? limits.sharedLateMs',
      'shares ? limits.sharedLateMs * 100',
    ],
    [
      'what is read in turn is late a tick later',
      'shares ? limits.sharedLateMs',
      'shares ? limits.sharedLateMs + 20',
    ],
  ]),
  ...of(DEMAND, [
    ['pre-cooling right after a start', 'state.runMs >= rules.precoolAfterStartMs;', 'true;'],
    ['pre-cooling under precoolOn', 'charge >= rules.precoolOnDc', 'charge >= rules.precoolOffDc'],
  ]),
  ...of(BURST, [
    [
      'service goes on with a running engine',
      'state.service === 1 && readings.rpm !== 0',
      'state.service === 2',
    ],
    ['service rests a second', 'account.restedMs < rules.serviceRestMs', 'account.restedMs < 1000'],
    [
      'service goes on when the button is let go',
      'state.service === 1 && health.button === 1;',
      'state.service === 1;',
    ],
    [
      'only the shortest rest',
      'restMs > rules.minRestMs ? restMs : rules.minRestMs',
      'rules.minRestMs',
    ],
    [
      'rests as short as at tempHot',
      'restMs > rules.minRestMs ? restMs : rules.minRestMs',
      'rules.restHotMs > rules.minRestMs ? rules.restHotMs : rules.minRestMs',
    ],
  ]),
  ...of(ACCOUNT, [
    [
      'a refill is told while the engine runs',
      '1 /* Cutoff.Disarmed */ | 2 /* Cutoff.EngineStopped */',
      '1',
    ],
    ['a refill is told while armed', '1 /* Cutoff.Disarmed */ | 2 /* Cutoff.EngineStopped */', '2'],
    ['a short press tells a refill', 'heldMs >= rules.refillHoldMsMin', 'heldMs >= 2980'],
    ['a long press tells a refill', 'heldMs <= rules.refillHoldMsMax', 'heldMs <= 8020'],
    ['a slosh tells a refill', 'state.gaugeRoseMs < rules.refillRiseMs', 'state.gaugeRoseMs < 40'],
    [
      'a gauge tells a refill while driving',
      'if (wish.standing === 0)',
      'if (wish.standing === 2)',
    ],
  ]),
  ...of(CALIBRATE, [
    ['a shorted sensor is no fault', 'readings.faults |= 1 /* Health.Low */ << shift;', ''],
    ['an open sensor is no fault', 'readings.faults |= 2 /* Health.High */ << shift;', ''],
    [
      'the rail of the pressure sensor is not judged',
      'codes.railCode <= rules.railCodeMax',
      'true',
    ],
    ['a band is a code wider', '(code >= table.codeMin)', '(code >= table.codeMin - 1)'],
    ['the last speed is kept', 'SPEED_STILL_MS = 2000', 'SPEED_STILL_MS = 2000000'],
    ['the last engine speed is kept', 'pulses < 2 ? 600 : 300', 'pulses < 2 ? 600 : 600'],
  ]),
  ...of(CORE, [['bad settings are never refused', 'if (faults.length > 0)', 'if (false)']]),
  ...of(CHECK, [
    [
      'relations between settings are not checked',
      'const sentence = relationFault(relation, settings);',
      "const sentence = '';",
    ],
    [
      'the share of spraying is not checked',
      'const sentence = dutyFault(settings);',
      "const sentence = '';",
    ],
  ]),
];
