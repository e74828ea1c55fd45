/** What a stage can be like. */
export const STAGE_KINDS = ['asphalt', 'gravel', 'snow', 'hill-climb', 'circuit'] as const;
