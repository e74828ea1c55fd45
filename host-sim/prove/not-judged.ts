/**
 * What no property judges, whatever is tried: what the monitors take from the core (signals.ts), what of the
 * contract has no property (general.ts), and where the tries begin. A sentence each, for page, text and data;
 * a property that is added shortens it.
 */
export const NOT_JUDGED: readonly string[] = [
  'Jumps and frozen values, what a calibration makes of codes within their bands, and the ambient pressure that boost is counted from. The tries of ways 1 to 4 begin at readings, but for the changes of codes and pulses that are listed, each alone and out of good conditions, in the calibration of the board as shipped; the chip way goes from pins and voltages, for the changes listed there.',
  'The water in the tank: reserve and empty are judged by the core’s own estimate. That every tick of spray is taken from it is judged; that the tank holds what it says is not.',
  'Which kind of spray runs (automatic, button, pre-cooling, service) is taken from the reason that the core gives; the reason it gives while it does not spray is not judged.',
  'Look-ahead: where it is set, the demand is judged with the expected charge that the core estimates, and nothing judges that estimate.',
  'The rest after a whole burst is followed in four steps of heat, not along the line; after a shorter one only minRest is judged. That it is not longer than rest and 1 s under good conditions is judged.',
  'That a burst begins only with room for all of it in the window: only that the window’s limit is kept.',
  'That it does pre-cool where it may, and does understand a refill that is told as it should be: only that neither comes otherwise.',
  'The ration of the water over the stage (stageTime), and restraint in humid air (minDepression).',
  'Whether the board tells the truth about its last reset, the bench strap, and a pump that was stuck on.',
  'Lamp, events, health bits and tick record: of what leaves the core only pump, enable, reason, cutoffs, demand, expected charge and estimate are looked at.',
  'Where ticks come unevenly: letting go of counted windows and latches, and the sum of the pump circuit, are judged with a margin; cutting off is not.',
];
