/** Small drawn signs, so that no face or picture has to be fetched. */
const PATHS = {
  spanner:
    "M10.6 2.2a3.6 3.6 0 0 0-3.3 4.9L2.3 12a1.2 1.2 0 0 0 1.7 1.7l5-5a3.6 3.6 0 0 0 4.6-4.6L11.5 6.200 9.900 4.600 12 2.500a3.600 3.600 0 0 0-1.400-.300z",
  moon: "M12.500 10.200A5.500 5.500 0 0 1 5.800 3.500 5.500 5.500 0 1 0 12.500 10.200z",
  sun: "M8 4.800a3.200 3.200 0 1 1 0 6.400 3.200 3.200 0 0 1 0-6.400zM8 .8v2M8 13.200v2M.8 8h2M13.200 8h2M2.900 2.900l1.400 1.400M11.700 11.700l1.400 1.400M2.900 13.100l1.400-1.400M11.700 4.300l1.400-1.400",
  pin: "M8 14V9.500M5 9.500h6L10 6V2.500h1M5 2.500h1V6L5 9.500M6 2.500h4",
} as const;

export function Sign({ name }: { name: keyof typeof PATHS }) {
  return (
    <svg class="sign" width="16" height="16" viewBox="0 0 16 16" aria-hidden="true" focusable="false">
      <path d={PATHS[name]} />
    </svg>
  );
}
