/** The car of the built-in demo: invented, about that of a club rally. SI units. */
import type { Vehicle } from './vehicle.js';

const KMH_AT_1000_RPM = [8.6, 12.7, 17, 21.6, 26.4];

export const DEMO_VEHICLE: Vehicle = {
  massKg: 1230,
  powerW: 180_000,
  dragAreaM2: 0.75,
  rolling: 0.015,
  grip: 1,
  gearsMps: KMH_AT_1000_RPM.map((kmh) => kmh / 3.6),
  idleRpm: 1050,
  limiterRpm: 7200,
  shiftS: 0.14,
  boostCurve: [
    [1500, 0],
    [2500, 380],
    [3500, 1120],
    [4300, 1420],
    [5600, 1400],
    [7200, 1150],
  ],
};
