package android.graphics;

public class Color {
    public static int parseColor(String colorString) {
        return (int) Long.parseLong("FF" + colorString.substring(1), 16);
    }
}
