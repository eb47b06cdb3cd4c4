import { useStoredTheme } from "../shared/theme.js";
import { CrewPage } from "./crew.js";

useStoredTheme();
const page = new CrewPage(document.getElementById("page"));
page.start();
