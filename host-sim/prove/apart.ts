/**
 * In what some settings differ from the tested ones, in words for a reader: edges and search change settings
 * where the tested ones keep a cutoff out of reach, and the report says so.
 */
import { SETTINGS, type Settings } from '../../controller/settings.js';
import { settingText } from '../../controller/settings-check.js';

/** "automaticAllowed no, manual 5 s"; '' if they are the same. */
export function settingsApart(tested: Settings, others: Settings): string {
  if (tested === others) return '';
  return SETTINGS.filter(({ field }) => tested[field] !== others[field])
    .map(({ name, field }) => `${name} ${settingText(name, others[field])}`)
    .join(', ');
}
