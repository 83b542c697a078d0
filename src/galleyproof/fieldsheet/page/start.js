// Open the sheet. What tests and the curious may call stands under one name.

const block = (name) => document.getElementById(name).textContent;
const sheet = openSheet(block);
// as an entry may hold it: one line, not too long
sheet.jobName = sheet.job.name.replace(/[\p{Cc}\p{Cs}]/gu, " ").slice(0, 100).replace(/\p{Cs}/gu, "").trim() || "job";
window.fieldsheet = {
  sheet, Beliefs, Search, understood, said, doubt, observationsOf, inflate, fromBase64, splitToCodes, writeLog, digest, progressOf, compareLogs, readLog,
  app: new App(sheet),
};
