/**
 * What the check of a calibration says to a person: value and bound in one sentence. A device has
 * nobody to say it to, so the bundle has this module without its texts.
 */

/** The sentence for a number out of bounds. */
export function boundSentence(name: string, value: number, min: number, max: number): string {
  return name + ' is ' + value + '; it must be a whole number from ' + min + ' to ' + max;
}

/** The sentence for an input that is needed and not fitted. */
export function neededSentence(fitted: number): string {
  return 'fitted is ' + fitted + '; engine speed, boost and charge are needed';
}
