import { useStoredTheme } from "../shared/theme.js";
import { PlanPage } from "./plan.js";

useStoredTheme();
new PlanPage(document.getElementById("page")).start();
