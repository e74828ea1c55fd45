/**
 * What the tests use of PsychroLib, which brings no types of its own: temperatures in degC, relative
 * humidity 0..1, humidity ratio in kg/kg, pressure in Pa, enthalpy in J/kg, once the unit system is SI.
 */
declare module 'psychrolib' {
  const psychrolib: {
    readonly SI: number;
    SetUnitSystem(system: number): void;
    GetSatVapPres(celsius: number): number;
    GetHumRatioFromRelHum(celsius: number, humidity: number, pascal: number): number;
    GetTWetBulbFromHumRatio(celsius: number, ratio: number, pascal: number): number;
    GetMoistAirDensity(celsius: number, ratio: number, pascal: number): number;
    GetMoistAirEnthalpy(celsius: number, ratio: number): number;
    GetTWetBulbFromRelHum(celsius: number, humidity: number, pascal: number): number;
  };
  export = psychrolib;
}
