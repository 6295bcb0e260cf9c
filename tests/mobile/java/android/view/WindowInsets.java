package android.view;

import android.graphics.Insets;
import android.os.Build;
import java.util.HashMap;
import java.util.Map;

/** What covers the window, by kind; the kinds can be asked for since level 30. */
public final class WindowInsets {
    public static final WindowInsets CONSUMED = new WindowInsets();

    public final Map<Integer, Insets> covering = new HashMap<>();

    public Insets getInsets(int typeMask) {
        Build.since(30);
        Insets all = Insets.of(0, 0, 0, 0);
        for (Map.Entry<Integer, Insets> one : covering.entrySet()) {
            if ((one.getKey() & typeMask) != 0) all = Insets.max(all, one.getValue());
        }
        return all;
    }

    public static final class Type {
        public static int statusBars() {
            Build.since(30);
            return 1;
        }

        public static int navigationBars() {
            Build.since(30);
            return 2;
        }

        public static int ime() {
            Build.since(30);
            return 8;
        }

        public static int displayCutout() {
            Build.since(30);
            return 128;
        }

        public static int systemBars() {
            return statusBars() | navigationBars();
        }
    }
}
