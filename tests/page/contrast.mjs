// Contrast as WCAG 2.2 defines it (relative luminance and contrast ratio, its glossary), computed in
// the page from the colours the browser arrived at.

/** Each element's contrast with what lies behind it: `[{what, ratio}]`, for text or for a drawn stroke. */
export function contrasts(page, selectors, property) {
  return page.evaluate(
    ({ selectors, property }) => {
      const channels = (colour) => colour.match(/[\d.]+/g).map(Number);
      const opaque = (colour) => colour.startsWith("rgb") && (channels(colour)[3] ?? 1) === 1;
      const luminance = (colour) => {
        const [r, g, b] = channels(colour).slice(0, 3).map((channel) => {
          const share = channel / 255;
          return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
        });
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
      };
      const behind = (element) => {
        for (let at = element; at !== null; at = at.parentElement) {
          const colour = getComputedStyle(at).backgroundColor;
          if (opaque(colour)) return colour;
        }
        throw new Error("nothing opaque lies behind");
      };
      const seen = (element) => element.getClientRects().length > 0;
      return selectors.flatMap((selector) =>
        [...document.querySelectorAll(selector)].filter(seen).map((element) => {
          const [one, other] = [getComputedStyle(element)[property], behind(element)].map(luminance);
          const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
          return { what: selector, ratio };
        }),
      );
    },
    { selectors, property },
  );
}
