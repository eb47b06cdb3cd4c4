import { useStoredTheme } from "../shared/theme.js";
import { OwnerPage } from "./owner.js";

useStoredTheme();
new OwnerPage(document.getElementById("page")).start();
