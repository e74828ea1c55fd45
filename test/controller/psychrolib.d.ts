/**
 * What the tests use of PsychroLib, which brings no types of its own: temperatures in degC, relative
 * humidity 0..1, pressure in Pa, once the unit system is SI.
 */
declare module 'psychrolib' {
  const psychrolib: {
    readonly SI: number;
    SetUnitSystem(system: number): void;
    GetTWetBulbFromRelHum(celsius: number, humidity: number, pascal: number): number;
  };
  export = psychrolib;
}
