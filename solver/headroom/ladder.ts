/** Which multiple is asked about next, and for what share of the whole time. */
export interface Rung {
  readonly multiple: number;
  readonly share: number;
}

export interface LadderOptions {
  /** Greater multiples are disproved or not of interest. */
  readonly most: number;
  /** Not much less could be disproved too: there was time to ask. Default true. */
  readonly isNarrowed?: boolean;
  readonly lane: number;
  /** Asked about first, whatever is known: the day as ordered. */
  readonly first: number;
}

/** A search that found nothing proves nothing: between what fits and what failed the ladder narrows, then asks again for longer. */
const USUAL_SHARE = 0.18;
const LONG_SHARE = 0.3;
/** Of the day as ordered when it certainly does not fit: only what holds lines back is of interest then. */
const SHORT_SHARE = 0.09;
/** As near as this (relative) what fits and what failed are not halved any more. */
const NEAR = 0.045;
/** Where 1 % is not on time, some 4 % less would have to be ordered for all to be: the last loads are the hard ones. */
const SHORTER = 4;
/** After a failure the next multiple lies between what fits and what failed, no nearer to what fits than this share of the way. */
const LEAST_PART = 0.5;
/** Of what is not disproved so much fits where containers on shelves are what counts: one lane begins with what is all but sure to be found, */
const SURE = 0.88;
/** and all go on to what, if it is found, leaves a twentieth between. */
const AIM = 0.952;
/** With so much on time another try is worth more than a lesser multiple, once. */
const ALL_BUT = 0.99;

/** Climbs from what fits towards what certainly does not. Lanes differ in where they start and how far they step. */
export class Ladder {
  private readonly options: LadderOptions;
  private fits = 0;
  /** Where things would stand by what was on time: the guess after a failure. */
  private guess = Number.POSITIVE_INFINITY;
  private readonly failed = new Map<number, number>();
  /** The greatest at which all but everything was on time. */
  private almost = 0;
  private asked = 0;

  constructor(options: LadderOptions) {
    this.options = options;
  }

  next(): Rung | null {
    const { most, lane, first, isNarrowed = true } = this.options;
    if (most <= 0) return null;
    this.asked++;
    if (this.asked === 1 && lane === 0) return { multiple: first, share: first <= most ? USUAL_SHARE : SHORT_SHARE };
    const ceiling = Math.min(most, ...[...this.failed.keys()].filter((multiple) => multiple > this.fits));
    // Half way by ratio where little is known of the limit.
    const sure = isNarrowed ? SURE * ceiling : Math.sqrt(first * ceiling);
    if (this.asked === 1) return { multiple: tidy(ceiling < first ? ceiling * 0.8 : sure), share: USUAL_SHARE };
    if (this.fits === 0) {
      const multiple = tidy(Math.max(0.02, Math.min(this.guess, ceiling * 0.95) * (lane === 0 ? 0.93 : 0.97)));
      return { multiple, share: USUAL_SHARE };
    }
    if (this.failed.size === 0) {
      const aim = Math.ceil(AIM * most * 100) / 100;
      const isAim = isNarrowed && this.fits < aim && aim < most;
      const multiple = isAim ? aim : tidy(Math.sqrt(this.fits * most));
      if (multiple > this.fits) return { multiple, share: LONG_SHARE };
    }
    if (this.almost > this.fits && this.failed.get(this.almost) === 1)
      return { multiple: this.almost, share: LONG_SHARE };
    if (ceiling - this.fits > NEAR * ceiling) {
      const multiple = tidy(this.between(ceiling));
      if (multiple > this.fits) return { multiple, share: USUAL_SHARE };
    }
    // Near: what failed is asked again for longer, the least often asked first, a little above what fits otherwise.
    const again = [...this.failed]
      .filter(([multiple]) => multiple > this.fits && multiple <= most)
      .sort((a, b) => a[1] - b[1] || a[0] - b[0])[0];
    if (again) return { multiple: again[0], share: LONG_SHARE };
    return this.fits < most ? { multiple: most, share: LONG_SHARE } : null;
  }

  /** Where a trial is worth while, between what fits and the least that failed: as far as what was on time there says. */
  private between(ceiling: number): number {
    const range = ceiling - this.fits;
    const part = this.options.lane === 0 ? 0.7 : 0.85;
    return Math.max(this.fits + LEAST_PART * range, Math.min(this.guess, this.fits + part * range));
  }

  /** What came of it: `onTime` is the share of the pieces that was on time. */
  tell(multiple: number, fits: boolean, onTime: number): void {
    if (fits) this.fits = Math.max(this.fits, multiple);
    if (!fits) this.guess = Math.min(this.guess, multiple * onTime ** SHORTER);
    if (!fits && onTime >= ALL_BUT) this.almost = Math.max(this.almost, multiple);
    if (!fits) this.failed.set(multiple, (this.failed.get(multiple) ?? 0) + 1);
  }
}

/** Rounded down to a hundredth where that leaves something: multiples that people can say. */
function tidy(multiple: number): number {
  const hundredths = Math.floor(multiple * 100 + 1e-9) / 100;
  return hundredths > 0 ? hundredths : multiple;
}
