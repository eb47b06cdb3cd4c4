import { useStoredTheme } from "../shared/theme.js";
import { BooksPage } from "./books.js";
import { JobSheet } from "./job.js";
import { MonthBook } from "./month.js";
import { Sites } from "./sites.js";

useStoredTheme();
const asked = new URLSearchParams(location.search);
const sheet = location.pathname === "/sites" ? new Sites(asked.get("site")) : asked.has("job") ? new JobSheet(asked.get("job")) : new MonthBook(asked.get("month"));
new BooksPage(document.getElementById("page"), sheet).start();
