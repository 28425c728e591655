/** Which multiple is asked about next, and for what share of the whole time. */
export interface Rung {
  readonly multiple: number;
  readonly share: number;
}

export interface LadderOptions {
  /** Greater multiples are disproved or not of interest. */
  readonly most: number;
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

/** While nothing has failed, how far up by ratio towards the limit the next one lies: at first, by lane, so that one is bold while others are sure, and then. */
const STRIDES = [0.7, 0.5];
const LATER_STRIDE = 0.4;

/** Climbs from what fits towards what certainly does not. Lanes differ in where they start and how far they step. */
export class Ladder {
  private readonly options: LadderOptions;
  private fits = 0;
  /** Where things would stand by what was on time: the guess after a failure. */
  private guess = Number.POSITIVE_INFINITY;
  private readonly failed = new Map<number, number>();
  private asked = 0;

  constructor(options: LadderOptions) {
    this.options = options;
  }

  next(): Rung | null {
    const { most, lane, first } = this.options;
    if (most <= 0) return null;
    this.asked++;
    if (this.asked === 1 && lane === 0) return { multiple: first, share: first <= most ? USUAL_SHARE : SHORT_SHARE };
    const ceiling = Math.min(most, ...[...this.failed.keys()].filter((multiple) => multiple > this.fits));
    const stride = this.asked <= 2 ? STRIDES[lane % STRIDES.length]! : LATER_STRIDE;
    // Half way, by ratio, between what fits and what is disproved.
    if (this.asked === 1)
      return { multiple: tidy(ceiling < first ? ceiling * 0.8 : Math.sqrt(first * ceiling)), share: USUAL_SHARE };
    if (this.fits === 0) {
      const multiple = tidy(Math.max(0.02, Math.min(this.guess, ceiling * 0.95) * (lane === 0 ? 0.93 : 0.97)));
      return { multiple, share: USUAL_SHARE };
    }
    if (ceiling - this.fits > NEAR * ceiling) {
      const multiple = tidy(
        this.failed.size === 0 ? this.fits * (ceiling / this.fits) ** stride : this.between(ceiling),
      );
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
    if (!fits) this.failed.set(multiple, (this.failed.get(multiple) ?? 0) + 1);
  }
}

/** Rounded down to a hundredth where that leaves something: multiples that people can say. */
function tidy(multiple: number): number {
  const hundredths = Math.floor(multiple * 100 + 1e-9) / 100;
  return hundredths > 0 ? hundredths : multiple;
}
