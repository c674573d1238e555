(() => {
  const table = document.querySelector("table"), body = table.tBodies[0];
  const heads = [...table.tHead.rows[0].cells], urgent = [...body.rows];
  const key = (row, at) => {
    const text = row.cells[at].querySelector(".value")?.textContent ?? "";
    return text.match(/\d{4}-\d\d-\d\d/)?.[0] ?? text;
  };
  const compare = (at) => (one, other) => {
    const [a, b] = [key(one, at), key(other, at)];
    if (!a || !b) return !a - !b;
    return a.localeCompare(b, "en", { numeric: true });
  };
  const sort = (head, falling) => {
    const at = heads.indexOf(head), by = compare(at), ranked = head.dataset.key === "state";
    const rows = [...urgent];
    if (!ranked) rows.sort((a, b) => (key(a, at) && key(b, at) && falling ? by(b, a) : by(a, b)));
    else if (falling) rows.reverse();
    body.append(...rows);
    for (const each of heads) each.setAttribute("aria-sort", "none");
    head.setAttribute("aria-sort", falling ? "descending" : "ascending");
    location.replace(`#${head.dataset.key},${falling ? "descending" : "ascending"}`);
  };
  for (const head of heads) {
    head.querySelector("button").addEventListener("click", () => {
      sort(head, head.getAttribute("aria-sort") === "ascending");
    });
  }
  const [kept, way] = location.hash.slice(1).split(",");
  const asked = heads.find((head) => head.dataset.key === kept);
  table.tHead.hidden = false;
  if (asked) sort(asked, way === "descending");
})();
