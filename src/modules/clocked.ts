/** Settings of modules that a clock moves from one step to the next. */

export const clocked = {
  settle: {
    type: 'time',
    min: 0,
    max: 0.1,
    fallback: 0.0005,
    about: 'A clock and a reset closer together than this race, which the check reports.',
  },
  expects: {
    type: 'rate',
    fallback: { count: 1, per: 'step' },
    about: 'The clock it is meant to get; where it is stated, the check compares.',
  },
} as const;
