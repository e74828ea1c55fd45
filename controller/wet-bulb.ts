/**
 * Room for evaporation: ambient temperature minus wet-bulb temperature, from an integer table.
 * Takes 0.1 degC and permille, gives 0.1 K. The table was computed from the ASHRAE wet-bulb
 * relation at 1,013.25 hPa (Handbook of Fundamentals, chapter Psychrometrics); between its points
 * it is interpolated in both directions, within 0.65 K of the relation (0.3 K where the wet bulb is above 0 degC).
 */
import { divFloor } from './integer.js';

const STEP_DC = 50;
const STEP_PM = 100;
const ROWS = 13;
const COLUMNS = 11;

/** Depression in 0.1 K; a row every 5 degC from 0 to 60, a column every 10 % from 0 to 100. */
const DEPRESSION_DC = [
  [63, 56, 49, 42, 36, 30, 24, 17, 12, 6, 0],
  [82, 73, 64, 56, 44, 36, 29, 21, 14, 7, 0],
  [96, 85, 75, 64, 54, 45, 35, 26, 17, 8, 0],
  [118, 104, 90, 78, 65, 53, 42, 31, 20, 10, 0],
  [142, 124, 107, 91, 76, 62, 49, 36, 23, 11, 0],
  [167, 145, 125, 106, 88, 71, 55, 40, 26, 13, 0],
  [195, 168, 143, 120, 99, 80, 62, 45, 29, 14, 0],
  [224, 191, 161, 135, 111, 89, 68, 49, 32, 15, 0],
  [254, 214, 180, 149, 122, 97, 74, 54, 34, 17, 0],
  [286, 238, 198, 163, 132, 105, 80, 58, 37, 18, 0],
  [319, 262, 216, 177, 143, 113, 86, 62, 39, 19, 0],
  [353, 286, 234, 190, 153, 120, 91, 65, 42, 20, 0],
  [388, 310, 251, 203, 162, 127, 97, 69, 44, 21, 0],
];

function clamp(value: number, min: number, max: number): number {
  if (value < min) return min;
  return value > max ? max : value;
}

/** Depression at ambient `ambientDc` (0.1 degC) and `humidityPm` (permille), 0.1 K, rounded down. */
export function depressionDc(ambientDc: number, humidityPm: number): number {
  const temperature = clamp(ambientDc, 0, STEP_DC * (ROWS - 1));
  const humidity = clamp(humidityPm, 0, STEP_PM * (COLUMNS - 1));
  const row = clamp(divFloor(temperature, STEP_DC), 0, ROWS - 2);
  const column = clamp(divFloor(humidity, STEP_PM), 0, COLUMNS - 2);
  const down = temperature - row * STEP_DC;
  const right = humidity - column * STEP_PM;
  const upper = DEPRESSION_DC[row];
  const lower = DEPRESSION_DC[row + 1];
  const above = upper[column] * (STEP_PM - right) + upper[column + 1] * right;
  const below = lower[column] * (STEP_PM - right) + lower[column + 1] * right;
  return divFloor(above * (STEP_DC - down) + below * down, STEP_DC * STEP_PM);
}
