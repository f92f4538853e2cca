// Runs Python beside the page: answers the text of a job, one after the other.
import { loadPyodide } from "./python/pyodide.mjs";

const here = new URL("./", import.meta.url).href;

async function start() {
  postMessage({ kind: "progress", text: "Python is being loaded: some 15 MB, once." });
  const packages = fetch(here + "packages.zip").then((answer) => {
    if (!answer.ok) throw new Error(`packages.zip: ${answer.status}`);
    return answer.arrayBuffer();
  });
  const python = await loadPyodide({ indexURL: here + "python/" });
  postMessage({ kind: "progress", text: "signrules is being unpacked." });
  const place = python.runPython("import site; site.getsitepackages()[0]");
  python.unpackArchive(await packages, "zip", { extractDir: place });
  return python.runPython("from answering import answer_text; answer_text");
}

const started = start();
started.then(
  () => postMessage({ kind: "ready" }),
  (error) => postMessage({ kind: "failed", text: String(error.message ?? error) }),
);

onmessage = async ({ data }) => {
  try {
    const answerText = await started;
    postMessage({ kind: "answer", answer: JSON.parse(answerText(data.text)) });
  } catch (error) {
    postMessage({ kind: "failed", text: String(error.message ?? error) });
  }
};
