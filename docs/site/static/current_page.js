// The list of pages is longer than a window: it begins where the reader is.
document.addEventListener("DOMContentLoaded", () => {
  const box = document.querySelector(".sidebar-scroll");
  const here = document.querySelector(".sidebar-tree .current-page > a");
  if (!box || !here) return;
  const below = here.getBoundingClientRect().bottom - box.getBoundingClientRect().bottom;
  if (below > 0) box.scrollTop += below + box.clientHeight / 3;
});
