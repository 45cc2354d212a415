// An axis: places on the screen, round numbers, other units.

const log10 = Math.log10;
const inDecibels = (percent) => 20 * log10(1 + percent / 100);
const inPercent = (decibels) => 100 * (10 ** (decibels / 20) - 1);
const same = (value) => value;

/** A scale from values to places; `from` and `to` are the places of its limits. */
function makeScale(limits, log, from, to) {
  const use = log ? Math.log : same;
  const [low, high] = limits.map(use);
  const per = (to - from) / (high - low || 1);
  return {
    limits, log,
    at: (value) => from + (use(value) - low) * per,
    value: (place) => { const found = low + (place - from) / per; return log ? Math.exp(found) : found; },
    holds: (value) => value >= Math.min(...limits) && value <= Math.max(...limits),
  };
}

/** Round values within limits, at most about `most` of them. */
function roundPlaces([low, high], log, most) {
  if (log && low > 0) {
    const found = [];
    for (const steps of [[1, 2, 5], [1]]) {
      found.length = 0;
      for (let power = Math.floor(log10(low)); power <= log10(high); power++)
        for (const step of steps) {
          const value = step * 10 ** power;
          if (value >= low * 0.9999 && value <= high * 1.0001) found.push(value);
        }
      if (found.length <= most || steps.length === 1) break;
    }
    if (found.length > 1) return found;
  }
  const rough = (high - low) / Math.max(most, 1), decade = 10 ** Math.floor(log10(rough));
  const step = decade * [1, 2, 2.5, 5, 10].find((part) => part * decade >= rough * 0.9999);
  const found = [];
  for (let value = Math.ceil(low / step - 1e-9) * step; value <= high + 1e-9 * step; value += step) found.push(value);
  return found;
}

/** A number as short as it is, with a true minus. */
function plain(value, digits = 6) {
  const text = String(Number(value.toPrecision(digits)));
  return (text === "-0" ? "0" : text).replace("-", "−");
}

/** Limits that a logarithmic axis can have: where they begin at zero, at the smallest value shown. */
function logLimits([low, high], values) {
  if (low > 0) return [low, high];
  const above = values.filter((value) => value > 0);
  const least = above.length ? Math.min(...above) : high / 100;
  return [least / 1.3, high];
}
