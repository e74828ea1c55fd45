/**
 * What no property judges, whatever is tried: what the monitors take from the core (signals.ts), what of the
 * contract has no property (general.ts), and where the tries begin. A sentence each, for page, text and data;
 * a property that is added shortens it.
 */
export const NOT_JUDGED: readonly string[] = [
  'Ways 1 to 4 begin at readings, not at the codes of the converter: calibration, jumps and frozen values, pulse periods and the ambient pressure that boost is counted from are not judged. The chip way alone goes from pins and voltages, and only for the changes listed there.',
  'The water in the tank: reserve and empty are judged by the core’s own estimate. That every tick of spray is taken from it is judged; that the tank holds what it says is not.',
  'Which kind of spray runs (automatic, button, pre-cooling, service) is taken from the reason that the core gives; the reason it gives while it does not spray is not judged.',
  'Look-ahead: where it is set, the demand is judged with the expected charge that the core estimates, and nothing judges that estimate.',
  'The rest after a burst beyond minRest: how it shortens towards restHot and with a shorter burst. That it is not longer than rest and 1 s under good conditions is judged.',
  'That a burst begins only with room for all of it in the window: only that the window’s limit is kept.',
  'Pre-cooling beyond that it is set, at a standstill and in stage mode: its threshold, and the 15 s after the engine started.',
  'The ration of the water over the stage (stageTime), and restraint in humid air (minDepression).',
  'When service begins and ends; in service only the length of a spray, and the cutoffs that stop it, are judged.',
  'When a refill is understood, by button, gauge or link.',
  'Which settings are refused, and what a boot finds stored: a plan begins with settings and an estimate that are sound.',
  'Whether the board tells the truth about its last reset and about a pump that was stuck on.',
  'Lamp, events, health bits and tick record: of what leaves the core only pump, enable, reason, cutoffs, demand and estimate are looked at.',
  'Where ticks come unevenly: letting go of counted windows and latches, and the sum of the pump circuit, are judged with a margin; cutting off is not.',
];
