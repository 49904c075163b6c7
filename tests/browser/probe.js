/* Asked of an open page by pages.py: what a reader would trip over. */
(() => {
  const visible = (node) => {
    const style = getComputedStyle(node), box = node.getBoundingClientRect();
    return node.checkVisibility({ visibilityProperty: true }) && style.display !== "none" && box.width > 0 && box.height > 0;
  };
  const parse = (text) => {
    const m = text.match(/rgba?\(([^)]+)\)/);
    if (!m) return null;
    const [r, g, b, a = 1] = m[1].split(/[ ,/]+/).map(Number);
    return { r, g, b, a };
  };
  const over = (top, under) => ({ r: top.r * top.a + under.r * (1 - top.a), g: top.g * top.a + under.g * (1 - top.a), b: top.b * top.a + under.b * (1 - top.a), a: 1 });
  /* Relative luminance and contrast: WCAG 2.2. */
  const light = (c) => {
    const [r, g, b] = [c.r, c.g, c.b].map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a, b) => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
  const ground = (node) => {
    const layers = [];
    for (let at = node; at; at = at.parentElement) {
      const c = parse(getComputedStyle(at).backgroundColor);
      if (c && c.a > 0) layers.push(c);
      if (c && c.a >= 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), { r: 255, g: 255, b: 255, a: 1 });
  };
  const texts = () => {
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = [];
    while (walker.nextNode()) {
      const node = walker.currentNode.parentElement;
      if (walker.currentNode.data.trim() && !["SCRIPT", "STYLE", "NOSCRIPT", "title", "OPTION"].includes(node.tagName) && visible(node)) found.push([node, walker.currentNode.data.trim()]);
    }
    return found;
  };
  const px = (node) => {
    const size = parseFloat(getComputedStyle(node).fontSize);
    if (!(node instanceof SVGElement)) return size;
    const m = node.getScreenCTM();
    return size * Math.hypot(m.b, m.d);
  };
  const cut = (node) => {
    const box = node.getBoundingClientRect();
    for (let at = node.parentElement; at; at = at.parentElement) if (getComputedStyle(at).overflowX === "auto") return false;
    return box.right > innerWidth + 0.5 || box.left < -0.5;
  };
  window.probe = {
    small: (least) => texts().filter(([node]) => px(node) < least - 0.05).map(([node, text]) => `${text.slice(0, 40)}: ${px(node).toFixed(1)} px`),
    /* Words in pictures lie on a sheet of their own, or on the plot's card. */
    faint: (least) => texts().map(([node, text]) => {
      const svg = node instanceof SVGElement, sheet = svg && node.parentElement.querySelector("rect");
      const ink = parse(getComputedStyle(node)[svg ? "fill" : "color"]);
      const inPhoto = svg && node.closest(".view, .crop");
      const under = inPhoto ? (sheet ? parse(getComputedStyle(sheet).fill) : parse(getComputedStyle(node).stroke)) : ground(svg ? node.closest("svg").parentElement : node);
      return { text, value: ink && under ? contrast(over(ink, under), under) : 0 };
    }).filter((one) => one.value < least).map((one) => `${one.text.slice(0, 40)}: ${one.value.toFixed(2)}`),
    cut: () => texts().filter(([node]) => !(node instanceof SVGElement) && cut(node)).map(([, text]) => text.slice(0, 40)),
    controls: () => [...document.querySelectorAll("button, input, summary, a[href], [tabindex='0']")].filter((node) => visible(node) && !node.disabled).length,
    reset: () => {
      document.querySelectorAll("[data-met]").forEach((node) => node.removeAttribute("data-met"));
    },
    meet: () => {
      const node = document.activeElement;
      if (!node || node === document.body) return "";
      node.setAttribute("data-met", "");
      return node.tagName;
    },
    unmet: () => [...document.querySelectorAll("button, input, summary, a[href], [tabindex='0']")].filter((node) => visible(node) && !node.disabled && !node.hasAttribute("data-met"))
      .map((node) => `${node.tagName} ${(node.textContent || node.getAttribute("aria-label") || "").slice(0, 40)}`),
    bottom: (selector) => {
      const node = document.querySelector(selector);
      return node && visible(node) ? node.getBoundingClientRect().bottom + scrollY : null;
    },
  };
})();
