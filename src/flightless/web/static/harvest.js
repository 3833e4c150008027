// Files dropped on the page of games, and the progress of one harvest (server-sent events).
const drop = document.querySelector(".drop");
if (drop) {
  const field = drop.querySelector("input[type=file]");
  drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    if (event.dataTransfer.files.length) field.files = event.dataTransfer.files;
  });
}

const reading = document.querySelector(".reading");
if (reading && ["waiting", "running"].includes(reading.dataset.stage)) follow();

function follow() {
  const source = new EventSource(reading.dataset.events);
  const bar = reading.querySelector("progress");
  const counts = reading.querySelector(".counts");
  let shown = Number(reading.dataset.finds);
  let asking = false;
  source.onmessage = async (event) => {
    const now = JSON.parse(event.data);
    bar.value = now.part;
    counts.textContent = `${now.games} games read, ${now.finds} finds.`;
    if (!["waiting", "running"].includes(now.stage)) {
      source.close();
      if (!atWork()) location.reload();
      return;
    }
    if (now.finds === shown || asking || atWork()) return;
    asking = true;
    shown = now.finds;
    await bringFinds();
    setTimeout(() => { asking = false; }, 1500);
  };
}

// New finds must not take away what is ticked, or the place of somebody who is among them.
function atWork() {
  const finds = document.querySelector(".finds");
  return Boolean(document.querySelector("input[name=id]:checked")) || finds.contains(document.activeElement);
}

async function bringFinds() {
  const answer = await fetch(location.href);
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.querySelector(".finds");
  if (fresh && !atWork()) document.querySelector(".finds").replaceChildren(...fresh.childNodes);
}
