/** Of one document so many issues are told; more would only bury the first ones. */
export const MOST_ISSUES = 100;
