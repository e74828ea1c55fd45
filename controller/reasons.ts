/**
 * THE reason table. Every tick carries one reason: why it sprays, or the first thing that stops
 * the spray that would run, in the order of this table. Cutoffs stand in it by their bit.
 */

export const enum Reason {
  SprayAutomatic = 0,
  SprayManual = 1,
  SprayPrecool = 2,
  SprayService = 3,
  /** Reasons 4 to 22 are the cutoffs, by bit. */
  FirstCutoff = 4,
  RoadMode = 23,
  NoTemperature = 24,
  NoEngineSpeed = 25,
  NoBoost = 26,
  TooHumid = 27,
  Resting = 28,
  NoRoom = 29,
  Rationed = 30,
  /** Nothing stops it; never reported, since then it sprays. */
  None = 31,
}

/** What a spray is for; 0 is no spray. `Reason` of a spray is its kind minus 1. */
export const enum Kind {
  None = 0,
  Automatic = 1,
  Manual = 2,
  Precool = 3,
  Service = 4,
}

/** The words of `Kind`, by value. */
export const KIND_WORDS = ['none', 'automatic', 'manual', 'precool', 'service'] as const;

export interface ReasonRow {
  readonly id: string;
  readonly group: 'spray' | 'cutoff' | 'waiting' | 'rest';
  readonly sentence: string;
}

/** Rows by the value of `Reason`. */
export const REASONS: readonly ReasonRow[] = [
  { id: 'spray-automatic', group: 'spray', sentence: 'an automatic burst' },
  { id: 'spray-manual', group: 'spray', sentence: "a burst the driver's button asked for" },
  { id: 'spray-precool', group: 'spray', sentence: 'a burst against heat soak at standstill' },
  { id: 'spray-service', group: 'spray', sentence: 'the button held in service mode' },
  { id: 'disarmed', group: 'cutoff', sentence: 'the arm switch is open' },
  { id: 'engine-stopped', group: 'cutoff', sentence: 'the engine does not run, or may not' },
  { id: 'sensor-lost', group: 'cutoff', sentence: 'boost or charge temperature cannot be trusted' },
  { id: 'late-input', group: 'cutoff', sentence: 'a needed reading is too old' },
  { id: 'freezing', group: 'cutoff', sentence: 'water could freeze, or nobody knows' },
  { id: 'too-cool', group: 'cutoff', sentence: 'the charge is under the floor' },
  { id: 'burst-length', group: 'cutoff', sentence: 'one spray reached its longest length' },
  { id: 'duty', group: 'cutoff', sentence: 'the share of spraying in the window is used up' },
  { id: 'standstill', group: 'cutoff', sentence: 'the spray allowed at standstill is used up' },
  { id: 'reserve', group: 'cutoff', sentence: 'only the reserve is left' },
  { id: 'tank-empty', group: 'cutoff', sentence: 'the tank is empty' },
  { id: 'supply', group: 'cutoff', sentence: 'the supply voltage is out of its range' },
  { id: 'pump-circuit', group: 'cutoff', sentence: 'the pump circuit does not do as told' },
  { id: 'button-stuck', group: 'cutoff', sentence: 'the button has been closed for too long' },
  { id: 'not-allowed', group: 'cutoff', sentence: "the event's rules forbid this kind of spray" },
  { id: 'bad-settings', group: 'cutoff', sentence: 'the settings or the calibration are bad' },
  { id: 'unexpected-reset', group: 'cutoff', sentence: 'the controller was reset in use' },
  { id: 'late-tick', group: 'cutoff', sentence: 'the controller was late' },
  { id: 'core-fault', group: 'cutoff', sentence: 'the controller found a fault of its own' },
  {
    id: 'road-mode',
    group: 'waiting',
    sentence: 'the stage switch is open: only the button sprays',
  },
  { id: 'no-temperature', group: 'waiting', sentence: 'the charge is not hot enough' },
  { id: 'no-engine-speed', group: 'waiting', sentence: 'engine speed is under its threshold' },
  { id: 'no-boost', group: 'waiting', sentence: 'boost is under its threshold' },
  { id: 'too-humid', group: 'waiting', sentence: 'the air has no room for evaporation' },
  { id: 'resting', group: 'rest', sentence: 'the pause after a burst' },
  { id: 'no-room', group: 'rest', sentence: 'the window has no room for a whole burst' },
  { id: 'rationed', group: 'rest', sentence: 'the water must last for the stage time left' },
];
