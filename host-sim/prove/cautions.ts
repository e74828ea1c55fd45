/**
 * What a reader of the evidence must know before its tables: sentences for page and text.
 */
export const SETTINGS_WORDS_CAUTIONS: readonly string[] = [
  "The event's technical regulations decide whether spraying is allowed, with what liquid and how much; this report claims compliance with none.",
  'Everything here was computed or emulated: no real controller, pump or car was tried.',
  'A search that found no violation is no proof that there is none. What was not tried, and what no property judges, is listed.',
  'It is about the controller that sprays or does not; wiring, pump, hoses and nozzles need a competent person.',
];
