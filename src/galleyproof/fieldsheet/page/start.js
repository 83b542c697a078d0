// Open the sheet. What tests and the curious may call stands under one name.

const block = (name) => document.getElementById(name).textContent;
const sheet = openSheet(block);
sheet.jobName = [...sheet.job.name.replace(/[\p{Cc}\p{Cs}]/gu, " ").trim()].slice(0, 100).join("") || "job";
window.fieldsheet = {
  sheet, Beliefs, Search, understood, said, doubt, observationsOf, inflate, fromBase64, splitToCodes, writeLog, digest, progressOf, compareLogs, readLog,
  app: new App(sheet),
};
