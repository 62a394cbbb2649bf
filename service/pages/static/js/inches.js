// Millimetres as inches to the nearest sixteenth, as a rule shows them.
export function inches(millimetres) {
  const sixteenths = Math.round(Math.abs(millimetres) / 25.4 * 16);
  let [part, whole] = [16, sixteenths % 16];
  const full = Math.floor(sixteenths / 16);
  while (whole && whole % 2 === 0) [whole, part] = [whole / 2, part / 2];
  const sign = millimetres < 0 && sixteenths ? "−" : "";
  if (!whole) return `${sign}${full} in`;
  return full ? `${sign}${full} ${whole}/${part} in` : `${sign}${whole}/${part} in`;
}
