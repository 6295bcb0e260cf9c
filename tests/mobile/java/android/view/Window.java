package android.view;

import android.graphics.Insets;
import android.os.Build;

/**
 * A phone's window as its reference describes it: fitted by the system between its bars, with a
 * keyboard that shrinks it on request, until the app says that it fits itself, and from level 35 on
 * in any case under all of them.
 */
public class Window {
    public final View decor = new View(), inside = new View();
    public final WindowInsets insets = new WindowInsets();
    public int width = 1080, height = 2400, softInputMode, flags, appearance;
    public int statusBarColor, navigationBarColor;
    private boolean isFitted = true;

    public View getDecorView() {
        return decor;
    }

    public void setSoftInputMode(int mode) {
        softInputMode = mode;
    }

    public void addFlags(int flags) {
        this.flags |= flags;
    }

    public void setDecorFitsSystemWindows(boolean decorFitsSystemWindows) {
        Build.since(30);
        isFitted = decorFitsSystemWindows;
    }

    public WindowInsetsController getInsetsController() {
        Build.since(30);
        return new WindowInsetsController() {
            @Override
            public void setSystemBarsAppearance(int wanted, int mask) {
                appearance = (appearance & ~mask) | (wanted & mask);
            }
        };
    }

    public void setStatusBarColor(int color) {
        if (Build.VERSION.SDK_INT < 35) statusBarColor = color;
    }

    public void setNavigationBarColor(int color) {
        if (Build.VERSION.SDK_INT < 35) navigationBarColor = color;
    }

    public void cover(int kind, int left, int top, int right, int bottom) {
        insets.covering.put(kind, Insets.of(left, top, right, bottom));
    }

    /** Lays the content out and returns what of it is drawn in: left, top, right, bottom. */
    public int[] drawnIn() {
        Insets fitted = Insets.of(0, 0, 0, 0);
        if (isFitted && Build.VERSION.SDK_INT < 35) {
            for (Insets one : insets.covering.values()) fitted = Insets.max(fitted, one);
        }
        inside.width = width - fitted.left - fitted.right;
        inside.height = height - fitted.top - fitted.bottom;
        if (inside.listener != null) inside.listener.onApplyWindowInsets(inside, insets);
        return new int[] {
            fitted.left + inside.padding[0],
            fitted.top + inside.padding[1],
            width - fitted.right - inside.padding[2],
            height - fitted.bottom - inside.padding[3]
        };
    }
}
